"""What became of each journey, and the journeys that belong together: rowed through, or a wrong gear left again."""

from dataclasses import dataclass, replace

import numpy as np

from shiftlog.detect.clutch import held_throughout, is_up
from shiftlog.detect.journeys import Journey
from shiftlog.model.car import NEUTRAL, REVERSE, Car, GateLayout
from shiftlog.model.drive import Signals
from shiftlog.model.settings import Settings

# An engine that leaves its ratio by this share within this time of the gear letting go was driving it.
FLARE_SHARE = 0.04
FLARE_S = 0.3


@dataclass(frozen=True, eq=False, kw_only=True)
class Settled:
    """A journey with its outcome."""

    journey: Journey
    outcome: str


def settle(journeys: tuple[Journey, ...], signals: Signals, car: Car, settings: Settings) -> tuple[Settled, ...]:
    """Outcomes in order of time; rowed-through journeys made one."""
    assert car.gate is not None
    joined = _join_rowed(journeys, signals, car, settings)
    settled = []
    for k, journey in enumerate(joined):
        later = joined[k + 1] if k + 1 < len(joined) else None
        wrong = later is not None and is_wrong_gear(journey, later, car.gate, settings)
        settled.append(Settled(journey=journey, outcome="wrong_gear" if wrong else _outcome(journey, signals, car)))
    return tuple(settled)


def _outcome(journey: Journey, signals: Signals, car: Car) -> str:
    if journey.kind == "missed":
        return "missed"
    if journey.kind in ("back", "to_neutral"):
        if _jumped_out(journey, signals, car):
            return "jumped_out"
        return "out_and_back" if journey.kind == "back" else "to_neutral"
    return "second_push" if any(p.refused for p in journey.pushes) else "clean"


def _number(gear: str) -> int | None:
    return int(gear) if gear not in (NEUTRAL, REVERSE) else None


def _direction(a: str, b: str) -> int:
    """+1 up, -1 down, 0 where neutral or reverse leaves no direction."""
    first, second = _number(a), _number(b)
    return 0 if first is None or second is None else int(np.sign(second - first))


def _brief_stay_s(first: Journey, second: Journey) -> float | None:
    """How long the gear between two journeys was in [s], or None where they do not share one."""
    if first.kind != "in" or second.left is None or first.entered is not second.left or second.kind != "in":
        return None
    return second.start_s - first.end_s


def is_wrong_gear(first: Journey, second: Journey, layout: GateLayout, settings: Settings) -> bool:
    """Left again within 0.8 s for another gear, the direction reversed or the neighbouring plane corrected."""
    stay = _brief_stay_s(first, second)
    if stay is None or stay >= settings.wrong_gear_s:
        return False
    there = _direction(first.from_gear, first.to_gear)
    onward = _direction(second.from_gear, second.to_gear)
    return there * onward < 0 or _neighbour_corrected(first.to_gear, second.to_gear, layout)


def _neighbour_corrected(gear: str, corrected: str, layout: GateLayout) -> bool:
    planes = layout.plane_of(gear), layout.plane_of(corrected)
    same_side = layout.position_mm(gear)[1] * layout.position_mm(corrected)[1] > 0
    return same_side and abs(planes[0] - planes[1]) == 1


def _join_rowed(journeys: tuple[Journey, ...], signals: Signals, car: Car, settings: Settings) -> list[Journey]:
    joined: list[Journey] = []
    for journey in journeys:
        if joined and _is_rowed(joined[-1], journey, signals, car, settings):
            joined[-1] = _join(joined[-1], journey)
        else:
            joined.append(journey)
    return joined


def _is_rowed(first: Journey, second: Journey, signals: Signals, car: Car, settings: Settings) -> bool:
    """Down through a gear with the clutch held. Without any word of the clutch a stay under 0.8 s passes as held."""
    stay = _brief_stay_s(first, second)
    if stay is None or stay > settings.neutral_stay_s:
        return False
    down = _direction(first.from_gear, first.to_gear) < 0 and _direction(second.from_gear, second.to_gear) < 0
    assert car.gate is not None
    if not down or is_wrong_gear(first, second, car.gate, settings):
        return False
    held = held_throughout(signals, car, first.to_gear, first.end_s, second.start_s)
    return stay < settings.wrong_gear_s if held is None else held


def _join(first: Journey, second: Journey) -> Journey:
    return replace(
        second, from_gear=first.from_gear, start_s=first.start_s, left=first.left,
        refusals=first.refusals + second.refusals, via=(*first.via, first.to_gear, *second.via),
    )  # fmt: skip


def _jumped_out(journey: Journey, signals: Signals, car: Car) -> bool:
    left = journey.left
    return left is not None and lets_go(signals, car, gear=left.gear, start_s=journey.start_s, out_s=left.out_s)


def lets_go(signals: Signals, car: Car, *, gear: str, start_s: float, out_s: float) -> bool:
    """Out of gear with the clutch up and no hand before, the engine leaving the ratio as it goes.

    start_s : when the lever leaves its place; out_s : when it falls through half of its depth
    """
    up = is_up(signals, out_s)
    if up is False or _hand_before(signals, start_s):
        return False
    flare = _flare(signals, car, gear, out_s)
    if flare is None:
        return False
    # Without a clutch channel only an engine that runs away upwards tells: a driver lifts before he declutches.
    return abs(flare) > FLARE_SHARE if up else flare > 1.5 * FLARE_SHARE


def _hand_before(signals: Signals, start_s: float) -> bool:
    """Whether a force sensor felt a hand in the half second before; False where there is none."""
    force = signals.lever_force
    if force is None:
        return False
    before = force.values[(force.time_s > start_s - 0.5) & (force.time_s < start_s)]
    return bool(before.size and np.max(np.abs(before)) > 5.0)


def _flare(signals: Signals, car: Car, gear: str, out_s: float) -> float | None:
    """Change of engine speed over vehicle speed from just before the gear let go to shortly after, as a share.

    None where the ratio was not held before, or cannot be seen.
    """
    engine, speed = signals.engine_speed, signals.vehicle_speed
    if engine is None or speed is None or engine.rate_hz < 5:
        return None
    at = out_s + np.array([-0.3, -0.2, -0.1, FLARE_S])
    v = np.interp(at, speed.time_s, speed.values)
    n = np.interp(at, engine.time_s, engine.values)
    if v.min() < 2.0:
        return None
    ratio = n / v
    held = float(np.median(ratio[:3]))
    known = car.rpm_per_mps(gear)
    if known is not None and abs(held / known - 1) > 0.06:
        return None
    return float(ratio[3] / held - 1)
