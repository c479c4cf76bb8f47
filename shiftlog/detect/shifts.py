"""From a lever's trace to shifts: the room's front door for the lever."""

from dataclasses import dataclass

import numpy as np

from shiftlog.detect.events import Stay, find_events
from shiftlog.detect.instants import crossing_uncertainty
from shiftlog.detect.journeys import Journey, find_journeys, longest_still_s
from shiftlog.detect.lever import Excursion
from shiftlog.detect.outcomes import Settled, settle
from shiftlog.detect.phases import find_baulk
from shiftlog.model.car import Car
from shiftlog.model.drive import Signals
from shiftlog.model.lever import LeverPath
from shiftlog.model.settings import Settings
from shiftlog.model.shift import Rejected, Shift

# Engine speed that rises by this much while the lever waits in neutral was raised on purpose.
DOUBLE_DECLUTCH_RPM = 150.0


@dataclass(frozen=True, eq=False, kw_only=True)
class LeverFindings:
    """What the lever shows: shifts in order (readings still empty) and candidates that are none."""

    shifts: tuple[Shift, ...]
    rejected: tuple[Rejected, ...]


def find_lever_shifts(path: LeverPath, signals: Signals, car: Car, settings: Settings) -> LeverFindings:
    """Every journey of the lever, with its instants, attempts, baulk and outcome."""
    events, brushes = find_events(path, settings)
    journeys, rejected = find_journeys(path, events, settings)
    settled = settle(journeys, signals, car, settings)
    shifts = tuple(_shift(k + 1, s, path, signals, settings) for k, s in enumerate(settled))
    return LeverFindings(shifts=shifts, rejected=rejected + tuple(_brush(path, b, settings) for b in brushes))


def _brush(path: LeverPath, brush: Excursion, settings: Settings) -> Rejected:
    return Rejected(
        start_s=float(path.time_s[brush.start]), end_s=float(path.time_s[brush.stop - 1]), kind="shift",
        why=f"the lever left the neutral line only to depth {brush.peak:.2f}; an attempt begins at "
        f"{settings.attempt_depth}",
    )  # fmt: skip


def _shift(number: int, settled: Settled, path: LeverPath, signals: Signals, settings: Settings) -> Shift:
    journey = settled.journey
    into = journey.entered if journey.kind == "in" else None
    out_s = journey.left.out_s if journey.left else None
    neutral = _neutral_span(journey)
    paused = None if neutral is None else bool(longest_still_s(path, *neutral, settings) > settings.pause_s)
    return Shift(
        number=number, from_gear=journey.from_gear, to_gear=journey.to_gear, via=journey.via, seen_by="lever",
        outcome=settled.outcome, start_s=journey.start_s, out_s=out_s, entered_s=into.entered_s if into else None,
        in_s=into.in_s if into else None, end_s=journey.end_s, attempts=len(journey.pushes) or None, paused=paused,
        double_declutched=_revved(signals, neutral) if paused and neutral else (False if paused is False else None),
        standing=_standing(signals, journey.start_s, settings),
        baulk=tuple(span for push in journey.pushes for span in find_baulk(path, push, settings)),
        instant_u_s=_instant_uncertainty(path, journey, into, settings),
    )  # fmt: skip


def _neutral_span(journey: Journey) -> tuple[float, float] | None:
    """From neutral reached to neutral left for the last time, for journeys between gears."""
    if journey.left is None or journey.entered is None:
        return None
    return journey.left.left_s, journey.entered.entered_s


def _revved(signals: Signals, span: tuple[float, float]) -> bool | None:
    engine = signals.engine_speed
    if engine is None or engine.rate_hz < 5:
        return None
    n = np.interp(np.linspace(*span, 20), engine.time_s, engine.values)
    return bool(n.max() - n[: int(np.argmax(n)) + 1].min() > DOUBLE_DECLUTCH_RPM)


def _standing(signals: Signals, at_s: float, settings: Settings) -> bool | None:
    speed = signals.vehicle_speed
    if speed is None:
        return None
    return bool(np.interp(at_s, speed.time_s, speed.values) < settings.standing_mps)


def _instant_uncertainty(path: LeverPath, journey: Journey, into: Stay | None, settings: Settings) -> dict[str, float]:
    left = journey.left
    instants = {"start_s": (journey.start_s, settings.depth_low)}
    if left is not None:
        instants = {"start_s": (left.leaves_s, settings.depth_high), "out_s": (left.out_s, settings.depth_mid)}
    if into is not None:
        instants |= {"in_s": (into.in_s, settings.depth_mid), "end_s": (into.arrived_s, settings.depth_high)}
    return {name: crossing_uncertainty(path, at_s, depth) for name, (at_s, depth) in instants.items()}
