"""Changes of gear without a lever: from engine speed, vehicle speed and longitudinal acceleration."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from shiftlog.detect.bands import RatioBands
from shiftlog.detect.changes import Opening, find_openings
from shiftlog.detect.evidence import Evidence, build_evidence
from shiftlog.detect.gap import locate_drive_gap, read_drive_gap
from shiftlog.detect.ratios import check_ratios, learn_from_samples, naming_notes
from shiftlog.detect.speeds import new_samples
from shiftlog.detect.stays import Stay, find_stays
from shiftlog.errors import CannotMeasure
from shiftlog.model.car import NEUTRAL, Car
from shiftlog.model.drive import Signals
from shiftlog.model.reading import Reading, unmeasured
from shiftlog.model.settings import Settings
from shiftlog.model.shift import Rejected, Shift
from shiftlog.model.trace import Trace

SLOWEST_PERIOD_S = 0.25
"""A shift is over in 0.3 to 1 s; an engine speed that comes less often than this cannot give its length. Vehicle
speed may come more slowly: it changes little meanwhile."""

LEAST_SAMPLES = 4
"""Two gears of two samples each are the least in which a change can show."""

LEVER_KEYS = ("shift_time_s", "neutral_time_s", "baulk_time_s", "approach_speed_mmps")

NEUTRAL_NOTE = (
    "N means here that no gear drives the car while the engine idles: without a clutch signal, neutral and a clutch "
    "held down look the same; from N a journey begins where the drive is taken up, the lever may have moved before"
)


@dataclass(frozen=True, eq=False, kw_only=True)
class DrivetrainFindings:
    """Changes of gear seen in the drive itself, what was left out and why, and what the drive says of the ratios.

    learnt_rpm_per_mps : by gear [rpm/(m/s)], gears that were driven only; bands : None where nothing was learnt
    notes : what a technician should know, one sentence each
    """

    shifts: tuple[Shift, ...] = ()
    rejected: tuple[Rejected, ...] = ()
    learnt_rpm_per_mps: Mapping[str, float] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    bands: RatioBands | None = None


@dataclass(frozen=True, eq=False, kw_only=True)
class _Scene:
    """What turning openings into shifts needs."""

    signals: Signals
    settings: Settings
    bands: RatioBands
    evidence: Evidence
    period_s: float

    @property
    def slow(self) -> bool:
        return self.period_s > SLOWEST_PERIOD_S


def find_gear_changes(signals: Signals, car: Car, settings: Settings) -> DrivetrainFindings:
    """Changes of gear from the ratio of engine to vehicle speed, with the drive gap where acceleration shows it.

    The evidence is how well each gear's ratio explains each sample; stays in gear follow by two levels of
    hysteresis; a change lies between two stays. Where engine or vehicle speed is missing nothing is found, and a
    note says so.
    """
    engine_speed, vehicle_speed = signals.engine_speed, signals.vehicle_speed
    if engine_speed is None or vehicle_speed is None:
        return DrivetrainFindings(notes=(_what_is_missing(engine_speed, vehicle_speed),))
    engine, vehicle = new_samples(engine_speed), new_samples(vehicle_speed)
    if min(engine.values.size, vehicle.values.size) < LEAST_SAMPLES:
        return DrivetrainFindings(notes=("engine or vehicle speed holds too few values to see a change of gear",))
    bands = learn_from_samples(engine, vehicle, car=car)
    notes = (*naming_notes(bands, car), *check_ratios(bands, car))
    if not bands.gears:
        why = "no ratio of engine to vehicle speed was held long enough to be a gear, so no change of gear can be found"
        return DrivetrainFindings(notes=(why, *notes), bands=bands)
    scene = _Scene(
        signals=signals, settings=settings, bands=bands, period_s=engine.period_s,
        evidence=build_evidence(engine, vehicle, bands, redline_rpm=car.redline_rpm),
    )  # fmt: skip
    openings = find_openings(
        find_stays(scene.evidence), scene.evidence, signals.clutch,
        hole_s=max(engine.hole_s, vehicle.hole_s), settings=settings,
    )  # fmt: skip
    found = [item for opening in openings for item in _judge(opening, scene)]
    shifts = [replace(s, number=i + 1) for i, s in enumerate(s for s in found if isinstance(s, Shift))]
    return DrivetrainFindings(
        shifts=tuple(shifts), rejected=tuple(r for r in found if isinstance(r, Rejected)),
        learnt_rpm_per_mps=bands.learnt, notes=(*notes, *_closing_notes(shifts, openings, scene)), bands=bands,
    )  # fmt: skip


def _what_is_missing(engine_speed: Trace | None, vehicle_speed: Trace | None) -> str:
    named = (("engine speed", engine_speed), ("vehicle speed", vehicle_speed))
    missing = [words for words, trace in named if trace is None]
    were = "was" if len(missing) == 1 else "were"
    return (
        "no change of gear can be found: without the lever's gears it takes engine speed and vehicle speed, and "
        f"{' and '.join(missing)} {were} not logged or could not be placed in time"
    )


def _closing_notes(shifts: list[Shift], openings: list[Opening], scene: _Scene) -> list[str]:
    notes = [_unsure_words(unsure)] if (unsure := sum(o.kind == "unsure" for o in openings)) else []
    if scene.slow:
        notes.append(f"{_slow_words(scene)}: changes of gear are found, their duration is refused")
    if scene.signals.clutch is None and any(NEUTRAL in (s.from_gear, s.to_gear) for s in shifts):
        notes.append(NEUTRAL_NOTE)
    return notes


def _unsure_words(unsure: int) -> str:
    many = "1 change of gear is" if unsure == 1 else f"{unsure} changes of gear are"
    return (
        f"{many} without drive for about three seconds, the engine at idle: the gears before and after are known, but "
        "not whether the clutch was held down or the lever lay in neutral on the way; log the clutch switch to tell"
    )


def _slow_words(scene: _Scene) -> str:
    return f"engine speed is new only every {scene.period_s:.2g} s"


def _judge(opening: Opening, scene: _Scene) -> list[Shift | Rejected]:
    """What an opening gives: one change of gear, journeys into and out of neutral, or a reason why not."""
    if opening.before is None or opening.after is None or opening.kind in ("stopped", "neutral"):
        return _neutral_journeys(opening, scene) if opening.kind in ("stopped", "neutral") else []
    old, new = _gear(opening.before, scene), _gear(opening.after, scene)
    if opening.kind == "hole":
        if old == new:
            return []
        return [_reject(opening, f"the log has a hole between {old} and {new}: the change lies somewhere in it")]
    if old == new:
        return [_reject(opening, _same_gear_reason(opening, scene))]
    return [_change(old, new, opening, scene)]


def _gear(stay: Stay, scene: _Scene) -> str:
    return scene.bands.gears[stay.gear]


def _neutral_journeys(opening: Opening, scene: _Scene) -> list[Shift | Rejected]:
    """Out of gear where it was left, into gear where the drive was taken up."""
    journeys: list[Shift | Rejected] = []
    if opening.before is not None:
        journeys.append(_journey(_gear(opening.before, scene), NEUTRAL, opening.start_s, scene))
    if opening.after is not None:
        new = _gear(opening.after, scene)
        journeys.append(_journey(NEUTRAL, new, opening.take_up_s, scene, end_s=opening.end_s))
    return journeys


def _reject(opening: Opening, why: str) -> Rejected:
    return Rejected(start_s=opening.start_s, end_s=opening.end_s, kind="shift", why=why)


def _same_gear_reason(opening: Opening, scene: _Scene) -> str:
    gear = opening.before.gear
    between = slice(opening.before.last + 1, opening.after.first)
    faster = np.nanmedian(scene.evidence.ratio[between]) > scene.bands.rpm_per_mps[gear]
    cause = (
        "the engine ran ahead of the wheels (wheelspin, a slipping clutch or a blip)"
        if faster
        else "the engine fell behind the wheels (clutch down, or wheels locked)"
    )
    return f"it ended in the gear it began in, {scene.bands.gears[gear]}: {cause}"


def _journey(old: str, new: str, start_s: float, scene: _Scene, *, end_s: float | None = None) -> Shift:
    """A journey that begins or ends in neutral: it has no times."""
    why = "the journey began or ended in neutral; there is no gap of drive between two gears"
    return _shift(old, new, start_s, None if scene.slow else end_s, None, unmeasured("drive_gap_s", why), scene)


def _change(old: str, new: str, opening: Opening, scene: _Scene) -> Shift:
    """A change between two gears, timed by the drive gap where there is one."""
    try:
        accel = _gap_accel(scene)
        gap = locate_drive_gap(accel, (opening.start_s, opening.end_s), scene.settings)
    except CannotMeasure as why:
        end_s = None if scene.slow else opening.end_s
        return _shift(old, new, opening.start_s, end_s, None, unmeasured("drive_gap_s", str(why)), scene)
    return _shift(old, new, gap[0], gap[1], gap, read_drive_gap(accel, gap, scene.settings), scene)


def _gap_accel(scene: _Scene) -> Trace:
    if scene.slow:
        raise CannotMeasure(f"{_slow_words(scene)}: the length of a shift cannot be had from that")
    # An engine that rocks in its mounts tilts what rides on it, just when drive comes and goes.
    accel = scene.signals.accel_vehicle.get("body") or scene.signals.accel_forward
    if accel is None:
        raise CannotMeasure(_no_accel_reason(scene.signals))
    return accel


def _no_accel_reason(signals: Signals) -> str:
    if "body" in signals.accel:
        return (
            "how the accelerometer lies in the car is not known, so its forward direction is not; give its mounting in "
            "drive.toml"
        )
    return "no accelerometer with all three axes at the body: fix a phone to the floor to see the drive gap"


def _shift(
    old: str,
    new: str,
    start_s: float,
    end_s: float | None,
    gap: tuple[float, float] | None,
    drive_gap: Reading,
    scene: _Scene,
) -> Shift:
    why = _no_lever_reason(scene)
    readings = {key: unmeasured(key, why) for key in LEVER_KEYS}
    speed = np.interp(start_s, scene.evidence.time_s, np.nan_to_num(scene.evidence.mps, nan=np.inf))
    return Shift(
        number=0,
        from_gear=old,
        to_gear=new,
        start_s=start_s,
        end_s=end_s,
        seen_by="drivetrain",
        outcome=None,
        standing=bool(speed < scene.settings.standing_mps) if np.isfinite(speed) else None,
        gap=gap,
        readings={**readings, drive_gap.key: drive_gap},
    )


def _no_lever_reason(scene: _Scene) -> str:
    if scene.slow:
        return f"no lever sensor in this log, and {_slow_words(scene)}: a duration cannot be had from that"
    return "no lever sensor in this log; a gap in the drive is not a lever time"
