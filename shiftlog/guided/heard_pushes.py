"""Pushes into reverse without a lever sensor: from the knock of the dogs, where clutch or marks say when to listen."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from shiftlog.errors import CannotMeasure
from shiftlog.guided.burst import BANDS_HZ, GUARD_S, IDLE_S, find_recorder
from shiftlog.guided.cards.clutch import REVERSE_SAYS, SPIN_DOWN
from shiftlog.guided.pushes import Push
from shiftlog.guided.spin_waits import SAME_TRY_S
from shiftlog.measure.scene import Scene
from shiftlog.measure.sound import cut_even
from shiftlog.model.car import REVERSE
from shiftlog.model.drive import MarkedTest
from shiftlog.model.trace import Trace
from shiftlog.signal.crossing import find_runs
from shiftlog.signal.filter import band_pass
from shiftlog.signal.loudness import HOP_S, short_time_power
from shiftlog.signal.resample import hold_last

STEP_S, LEAST_DOWN_S = 0.01, 0.6
EARLY_S, LATE_S = 0.6, 1.5
"""A hand is that much before its prompt at most, and that much after the prompt's own time."""
STANDS_OUT_DB = 10.0
"""Over what idle reaches now and then: the dogs of reverse are heard in every gearbox that idles alone."""
ONE_S, LEAST_SHARE = 0.25, 0.3
"""Blows nearer to one another are one push; the push is the first of those that reach this share of the loudest."""
REACH_S = 0.05
NO_TIMES = (
    "no lever sensor is logged and neither a clutch channel nor the card's own prompts say when reverse was pushed: "
    "log the clutch switch, follow the prompts from beginning to end and paste their marks, or type the waits with the "
    "mark"
)
NOT_HEARD = (
    "no lever sensor is logged, and no knock of the dogs stands out from idle where reverse was to be pushed; fix the "
    "recorder to the gearbox casing, or fit the lever sensor"
)
SYNCHRONISED = (
    "no lever sensor is logged, and reverse is synchronised: its cone takes the shaft's speed away before teeth can "
    "sound, so that only the lever's stand tells; fit the lever sensor"
)


@dataclass(frozen=True, eq=False, kw_only=True)
class Blow:
    """What was heard above idle: from when to when [drive time, s], and its peak [m/s²]."""

    from_s: float
    to_s: float
    peak: float


def hear_pushes(test: MarkedTest, scene: Scene) -> tuple[Push, ...]:
    """One push for each time reverse was to be pushed and was heard. CannotMeasure with what to log or to fix."""
    accel = find_recorder(scene.signals)
    if isinstance(accel, str):
        raise CannotMeasure(f"no lever sensor is logged, so that pushes must be heard, and there is {accel}")
    if scene.car.reverse_synchronised is True:
        raise CannotMeasure(SYNCHRONISED)
    if scene.signals.clutch is None and test.waits_s:
        found = _hear_all(accel, test)
    else:
        windows = _windows(test, scene)
        if not windows:
            raise CannotMeasure(NO_TIMES)
        heard = [_hear(accel, a, b) for a, b in windows]
        found = tuple(push for push in heard if push is not None)
    if not found:
        raise CannotMeasure(NOT_HEARD)
    return found


def _windows(test: MarkedTest, scene: Scene) -> list[tuple[float, float]]:
    """When to listen: while the clutch is down, else when the card's prompts ask for reverse."""
    clutch = scene.signals.clutch
    if clutch is None:
        listened = [(says - EARLY_S, says + lasts + LATE_S) for _, says, lasts in _prompted(test.start_s)]
        return [(a, b) for a, b in listened if b <= test.end_s + LATE_S]
    at = np.arange(test.start_s, test.end_s, STEP_S)
    down = hold_last(clutch.time_s, clutch.values, at) > 0.5
    return [(at[a] + IDLE_S / 2, at[b - 1]) for a, b in find_runs(down) if b - a > LEAST_DOWN_S / STEP_S and a > 0]


def prompted_waits(test: MarkedTest, pushes: Sequence[Push]) -> list[tuple[Push, float]]:
    """Each push with its wait since the card's prompt for the clutch before it [s]."""
    downs = np.array([down for down, _, _ in _prompted(test.start_s)])
    return [(push, float(push.touches_s - downs[downs < push.touches_s].max())) for push in pushes]


def _prompted(start_s: float) -> list[tuple[float, float, float]]:
    """When the card's prompts ask for the clutch and for reverse, and how long the latter lasts [s]."""
    found, now, before = [], start_s, start_s
    for step in SPIN_DOWN.steps:
        lasts = step.seconds or 0.0
        if step.say == REVERSE_SAYS:
            found.append((before, now, lasts))
        before, now = now, now + lasts
    return found


def _hear_all(accel: Trace, test: MarkedTest) -> tuple[Push, ...]:
    """Without times to listen at: blows that come close together are one try, from its push to the lever's way out."""
    listens_s = test.start_s + max(test.waits_s[0] - EARLY_S, IDLE_S + GUARD_S)
    tries: list[list[Blow]] = []
    for blow in _find_blows(accel, listens_s, test.end_s):
        if tries and blow.from_s - tries[-1][-1].to_s < SAME_TRY_S:
            tries[-1].append(blow)
        else:
            tries.append([blow])
    return tuple(_push_of(blows) for blows in tries)


def _hear(accel: Trace, start_s: float, end_s: float) -> Push | None:
    blows = _find_blows(accel, start_s, end_s)
    return _push_of(blows) if blows else None


def _find_blows(accel: Trace, start_s: float, end_s: float) -> list[Blow]:
    """What stands out from idle, which is heard just before; nothing where the log does not hold all of it."""
    first = start_s - IDLE_S - GUARD_S
    if not any(a <= first and end_s <= b for a, b in accel.spans):
        return []
    time_s, even = cut_even(accel, first, end_s)
    power = short_time_power(
        band_pass(even, accel.rate_hz, BANDS_HZ[1][0], 0.4 * accel.rate_hz, order=4), accel.rate_hz
    )
    centres = time_s[0] + np.arange(power.size) * HOP_S
    usual = float(np.quantile(power[centres < start_s], 0.98))
    loud = (power > usual * 10 ** (STANDS_OUT_DB / 10)) & (centres >= start_s)
    return [
        Blow(from_s=float(centres[a]), to_s=float(centres[b - 1]), peak=float(np.sqrt(power[a:b].max())))
        for a, b in _joined(find_runs(loud), round(ONE_S / HOP_S))
    ]


def _push_of(blows: Sequence[Blow]) -> Push:
    loudest = max(blow.peak for blow in blows)
    first = next(blow for blow in blows if blow.peak >= LEAST_SHARE * loudest)
    return Push(
        gear=REVERSE, leaves_s=first.from_s - REACH_S, touches_s=first.from_s, in_s=first.to_s, over_s=first.to_s,
        refusals=0, stands_s=0.0,
    )  # fmt: skip


def _joined(runs: np.ndarray, gap: int) -> Sequence[tuple[int, int]]:
    joined: list[tuple[int, int]] = []
    for a, b in runs:
        if joined and a - joined[-1][1] < gap:
            joined[-1] = (joined[-1][0], int(b))
        else:
            joined.append((int(a), int(b)))
    return joined
