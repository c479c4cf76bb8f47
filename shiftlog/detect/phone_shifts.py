"""Changes of gear from a phone alone: the drive that goes away and comes back, felt at the body."""

from shiftlog.detect.drivetrain import DrivetrainFindings
from shiftlog.detect.gap import locate_drive_gap, read_drive_gap
from shiftlog.detect.phone_coast import find_coast
from shiftlog.detect.phone_evidence import build_felt
from shiftlog.detect.phone_gears import name_by_speed
from shiftlog.detect.phone_judge import Judged, judge_pairs
from shiftlog.detect.phone_pairs import find_pairs
from shiftlog.detect.phone_reasons import reason_against
from shiftlog.errors import CannotMeasure
from shiftlog.model.car import Car
from shiftlog.model.drive import Signals
from shiftlog.model.reading import unmeasured
from shiftlog.model.settings import Settings
from shiftlog.model.shift import Rejected, Shift
from shiftlog.model.trace import Trace

LEAST_RATE_HZ = 25.0
"""The driveline swings at up to 8 Hz; three samples a swing are the least that show it."""

LEVER_KEYS = ("shift_time_s", "neutral_time_s", "baulk_time_s", "approach_speed_mmps")

NO_LEVER = "no lever sensor in this log; a gap in the drive is not a lever time"

MOVED_S = 0.5
"""A drive gap whose end lies further than this from the step it was found by belongs to something else."""

SPEED_WAIT_S = 5.0
"""Speed further away than this from a shift says nothing of it."""


def find_accel_shifts(signals: Signals, car: Car, settings: Settings) -> DrivetrainFindings:
    """Changes of gear from acceleration at the body, each with the probability that it is one.

    signals.accel_vehicle["body"] : (n, 3) vehicle axes [m/s²], gravity and grade included; signals.vehicle_speed
    helps where it is there. Candidates are pairs of steps in longitudinal acceleration; those at or above
    ``settings.phone_least_probability`` (on the overrun its own) are shifts, those above
    ``settings.phone_candidate_probability`` are rejected with the reason. Where the body's acceleration in vehicle
    axes is missing nothing is found, and a note says so.
    """
    body = signals.accel_vehicle.get("body")
    why = _why_not(body, signals)
    if body is None or why:
        return DrivetrainFindings(notes=(why,))
    pairs = [pair for felt in build_felt(body) for pair in find_pairs(felt)]
    judged = judge_pairs(pairs, find_coast(pairs, signals.vehicle_speed))
    shifts, rejected = [], []
    for one in judged:
        against = _why_no_shift(one, signals, settings)
        if against is None:
            shifts.append(_as_shift(one, len(shifts) + 1, signals, car, settings))
        elif one.probability >= settings.phone_candidate_probability:
            rejected.append(_reject(one, against))
    return DrivetrainFindings(shifts=tuple(shifts), rejected=tuple(rejected), notes=_notes(shifts, settings))


def _why_not(body: Trace | None, signals: Signals) -> str:
    if body is None and "body" in signals.accel:
        return (
            "no shift can be found from acceleration: how the accelerometer at the body lies in the car is not known; "
            "give its mounting in drive.toml, or log speed beside it so that the mounting can be found"
        )
    if body is None:
        return (
            "no shift can be found from acceleration: there is no accelerometer at the body; fix a phone to the floor "
            "or the dashboard and log it at 50 Hz or more"
        )
    if body.values.ndim != 2:
        return "no shift can be found from acceleration: it takes all three axes, the vertical one to tell bumps apart"
    if body.rate_hz < LEAST_RATE_HZ:
        return (
            f"no shift can be found from acceleration at {body.rate_hz:.1f} Hz: the swing of the driveline that tells "
            f"a shift from a lifted throttle needs {LEAST_RATE_HZ:.0f} Hz; log at 50 Hz or more"
        )
    return ""


def _why_no_shift(one: Judged, signals: Signals, settings: Settings) -> str | None:
    if one.probability < _least_probability(one, signals, settings):
        return reason_against(one)
    sure = one.probability >= settings.phone_sure_probability
    if not sure and one.step_over_road < settings.phone_least_step_over_road:
        return "its steps hardly stand out from the road, whatever else speaks for a change of gear"
    if one.release_over_road < settings.phone_least_release_over_road:
        return "the drive was taken up, as after a change of gear, but when it was released before is not felt"
    if one.pair.rests_on_a_blow:
        return "the road struck the car there, and without the blow its steps do not stand"
    if _standing(one.pair.start_s, signals.vehicle_speed, settings):
        return "the car stood or was just setting off"
    return None


def _least_probability(one: Judged, signals: Signals, settings: Settings) -> float:
    """The least a candidate's probability must be to stand."""
    overrun = one.pair.on_overrun and signals.vehicle_speed is not None
    return settings.phone_least_probability_overrun if overrun else settings.phone_least_probability


def _standing(at_s: float, speed: Trace | None, settings: Settings) -> bool | None:
    """Whether the car stood, or None where no speed tells."""
    if speed is None:
        return None
    near = (speed.time_s > at_s - SPEED_WAIT_S) & (speed.time_s < at_s + SPEED_WAIT_S)
    if not near.any():
        return None
    lagging = (speed.time_s >= at_s) & (speed.time_s <= at_s + max(1.0, 1.5 / speed.rate_hz))
    values = speed.values[lagging if lagging.any() else near]
    return bool(values.max() < settings.standing_mps)


def _reject(one: Judged, why: str) -> Rejected:
    return Rejected(start_s=one.pair.start_s, end_s=one.pair.end_s, kind="shift", why=why)


def _as_shift(one: Judged, number: int, signals: Signals, car: Car, settings: Settings) -> Shift:
    body = signals.accel_vehicle["body"]
    start_s, end_s = one.pair.start_s, one.pair.end_s
    try:
        gap = _locate_near((start_s, end_s), body, settings)
        reading, (start_s, end_s) = read_drive_gap(body, gap, settings), gap
    except CannotMeasure as why:
        gap, reading = None, unmeasured("drive_gap_s", str(why))
    from_gear, to_gear = name_by_speed(signals.vehicle_speed, (start_s, end_s), car)
    readings = {key: unmeasured(key, NO_LEVER) for key in LEVER_KEYS} | {reading.key: reading}
    return Shift(
        number=number, from_gear=from_gear, to_gear=to_gear, start_s=start_s, end_s=end_s, seen_by="acceleration",
        outcome=None, standing=_standing(start_s, signals.vehicle_speed, settings), gap=gap,
        confidence=one.probability, readings=readings,
    )  # fmt: skip


def _locate_near(steps: tuple[float, float], body: Trace, settings: Settings) -> tuple[float, float]:
    gap = locate_drive_gap(body, steps, settings)
    if max(abs(gap[0] - steps[0]), abs(gap[1] - steps[1])) > MOVED_S:
        raise CannotMeasure("the gap's ends run away from the steps that show the shift, so its length is not certain")
    return gap


def _notes(shifts: list[Shift], settings: Settings) -> tuple[str, ...]:
    told = (
        "shifts are found from acceleration at the body alone: each has the probability that it is one, and those "
        f"below {settings.phone_least_probability:.2f} are rejected ({settings.phone_least_probability_overrun:.2f} "
        "where engine braking goes away first and speed is known)"
    )
    if not shifts:
        return (told,)
    unknown = sum(1 for shift in shifts if shift.from_gear is None or shift.to_gear is None)
    gears = (
        f"the gears of {unknown} of {len(shifts)} shifts are not known: acceleration shows that a gear was changed, "
        "not which; log engine speed, or fit a lever sensor"
    )
    return (told, gears) if unknown else (told,)
