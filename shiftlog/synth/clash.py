"""Teeth that clash: an input shaft that coasts, a worn cone that does not bring it along, and teeth that pass."""

from dataclasses import dataclass

import numpy as np
from scipy import signal

from shiftlog.model.car import NEUTRAL
from shiftlog.model.shift import Shift
from shiftlog.synth.cars import SynthCar
from shiftlog.synth.levels import runs
from shiftlog.synth.synchro import Synchro, direction, hub_difference
from shiftlog.synth.vehicle import STEP_S, Motion

FINE_HZ = 16000.0
"""Grid on which impacts are computed: 20 times the highest resonance."""
SHAFT_S = 0.001
"""Step in which the shafts' speeds are followed; they change over tens of ms."""
TOUCH_DEPTH = 0.3
LEAST_RPM = 40.0
"""Teeth that pass slower than this fall into one another without a sound."""
LOUD_MPS2 = 3.5
"""r.m.s. of a usual clash at the gearbox (common practice, no source)."""
SKIM_HZ = (600.0, 900.0)
"""Teeth that pass faster than this skim over one another: each blow is like the last."""
CLUTCH_OPEN = 0.9
RING_S = 0.05


@dataclass(frozen=True, eq=False, kw_only=True)
class Push:
    """The lever's way into a gear: times (n,) [s], depths (n,); ``until_s``: the dogs are in, or it has fallen back."""

    time_s: np.ndarray
    depth: np.ndarray
    until_s: float


@dataclass(frozen=True, eq=False, kw_only=True)
class Shafts:
    """What the hub sees: times (n,) [s], speed difference (n,) [rpm], teeth in touch (n,) bool."""

    time_s: np.ndarray
    hub_rpm: np.ndarray
    touching: np.ndarray


@dataclass(frozen=True, eq=False, kw_only=True)
class Clash:
    """Teeth that clash.

    window_s : where the definition looks for it; start_s, end_s : first and last impact
    track_s, track_hz : (n,) when teeth touched and how fast they passed; hub_rpm : the difference at first touch
    fine_s : (m,) even grid, accel : (m, 3) what the gearbox does of it [m/s²]
    """

    window_s: tuple[float, float]
    start_s: float
    end_s: float
    track_s: np.ndarray
    track_hz: np.ndarray
    hub_rpm: float
    fine_s: np.ndarray
    accel: np.ndarray

    def heard(self, time_s: np.ndarray, *, rate_hz: float) -> tuple[slice, np.ndarray]:
        """The samples it reaches, and what a recorder with an honest anti-alias filter adds there, (k, 3) [m/s²]."""
        first, last = np.searchsorted(time_s, (self.fine_s[0], self.fine_s[-1]))
        sos = signal.butter(8, 0.46 * rate_hz, fs=FINE_HZ, output="sos")
        smooth = signal.sosfiltfilt(sos, self.accel, axis=0)
        inside = time_s[first:last]
        added = np.stack([np.interp(inside, self.fine_s, smooth[:, k]) for k in range(3)], axis=1)
        return slice(int(first), int(last)), added


def follow_shafts(
    shift: Shift, push: Push, motion: Motion, synth_car: SynthCar, synchro: Synchro, *, grip: float
) -> Shafts:
    """Both sides of the hub from the push's first touch on: → ``Shafts``.

    Free, the input coasts; while the cone is pressed it pulls the difference down, at ``grip`` of its own slope.
    """
    car, gear = synth_car.car, shift.to_gear
    time_s = np.arange(push.time_s[0], push.until_s, SHAFT_S)
    touching = np.interp(time_s, push.time_s, push.depth) >= TOUCH_DEPTH
    speed = np.interp(time_s, motion.time_s, np.abs(motion.speed_mps))
    slope = synchro.slopes.get(gear, {}).get(direction(synth_car, shift.from_gear, gear))
    pull = grip * 1e6 / slope * SHAFT_S if slope else 0.0
    since_s, turning = _let_free(shift, motion, synth_car, synchro)
    turning = max(turning - synchro.drag_rpmps * max(float(time_s[0]) - since_s, 0.0), 0.0)
    per_rpm = hub_difference(car, gear, 1.0, 0.0)
    apart = np.zeros(time_s.size)
    for index in range(time_s.size):
        apart[index] = hub_difference(car, gear, turning, speed[index])
        if touching[index]:
            turning -= np.sign(apart[index]) * min(pull, abs(apart[index])) / per_rpm
        elif not shift.standing:
            turning = max(turning - synchro.drag_rpmps * SHAFT_S, 0.0)
    return Shafts(time_s=time_s, hub_rpm=apart, touching=touching)


def _let_free(shift: Shift, motion: Motion, synth_car: SynthCar, synchro: Synchro) -> tuple[float, float]:
    """When the input shaft was left to itself, and how fast it turned then [s, rpm]."""
    at = int(shift.start_s / STEP_S)
    if shift.standing:
        return shift.start_s, synchro.dragging * synth_car.idle_rpm
    if shift.from_gear != NEUTRAL:
        free_s = shift.out_s if shift.out_s is not None else shift.start_s
        speed = float(np.interp(free_s, motion.time_s, np.abs(motion.speed_mps)))
        return free_s, speed * synth_car.car.rpm_per_mps(shift.from_gear)
    closed = np.flatnonzero(motion.clutch[: at + 1] < CLUTCH_OPEN)
    last = int(closed[-1]) if closed.size else 0
    return float(motion.time_s[last]), float(motion.engine_rpm[last])


def draw_clash(
    shift: Shift, push: Push, shafts: Shafts, motion: Motion, synth_car: SynthCar, rng: np.random.Generator
) -> Clash | None:
    """The sound of one push, or None where the teeth hardly met."""
    sounding = shafts.touching & (np.abs(shafts.hub_rpm) > LEAST_RPM)
    stretches = [(a, b) for a, b in runs(sounding) if b - a >= 6]
    if not stretches:
        return None
    sounding = np.zeros_like(sounding)
    for a, b in stretches:
        sounding[a:b] = True
    fine_s, struck = _impacts(shafts, sounding, shift, motion, synth_car, rng)
    if not struck.any():
        return None
    accel = _ring(struck, rng)
    within = _along(fine_s, shafts, sounding)
    accel *= rng.lognormal(np.log(LOUD_MPS2), 0.5) / np.sqrt(np.mean(np.sum(accel[within] ** 2, axis=1)))
    entered = np.flatnonzero(push.depth >= 0.2)
    last_s = push.until_s if shift.outcome == "missed" or shift.end_s is None else shift.end_s - 0.01
    teeth = synth_car.car.dog_teeth[shift.to_gear]
    return Clash(
        window_s=(float(push.time_s[entered[0]]), last_s),
        start_s=float(shafts.time_s[stretches[0][0]]),
        end_s=float(shafts.time_s[stretches[-1][1] - 1]),
        track_s=shafts.time_s[sounding],
        track_hz=teeth * np.abs(shafts.hub_rpm[sounding]) / 60,
        hub_rpm=float(shafts.hub_rpm[stretches[0][0]]),
        fine_s=fine_s,
        accel=accel,
    )


def _impacts(
    shafts: Shafts,
    sounding: np.ndarray,
    shift: Shift,
    motion: Motion,
    synth_car: SynthCar,
    rng: np.random.Generator,
) -> tuple[np.ndarray, np.ndarray]:
    """Fine grid (m,) [s] and blows (m,): one for each tooth that passes, of random size, as the hub's turn has it."""
    car, gear = synth_car.car, shift.to_gear
    fine_s = np.arange(shafts.time_s[0] - 0.01, shafts.time_s[-1] + RING_S, 1 / FINE_HZ)
    apart = np.abs(np.interp(fine_s, shafts.time_s, shafts.hub_rpm)) * _along(fine_s, shafts, sounding)
    passed = np.cumsum(car.dog_teeth[gear] * apart / 60) / FINE_HZ + rng.uniform()
    hits = np.flatnonzero(np.diff(np.floor(passed)) > 0)
    speed = np.interp(fine_s, motion.time_s, np.abs(motion.speed_mps))
    hub_hz = speed * car.rpm_per_mps(gear) / car.ratios[gear] / 60
    turn = 2 * np.pi * np.cumsum(hub_hz) / FINE_HZ + rng.uniform(0, 2 * np.pi)
    struck = np.zeros(fine_s.size)
    tooth_hz = car.dog_teeth[gear] * apart[hits] / 60
    uneven = rng.lognormal(0, 1, hits.size) ** np.interp(tooth_hz, SKIM_HZ, (0.4, 0.05))
    sizes = uneven * np.clip(apart[hits] / 600, 0.05, 4.0) ** 0.5
    swell = rng.uniform(0.2, 0.7) * np.interp(tooth_hz, SKIM_HZ, (1.0, 0.1))
    struck[hits] = sizes * (1 + swell * np.sin(turn[hits]))
    return fine_s, struck


def _along(fine_s: np.ndarray, shafts: Shafts, sounding: np.ndarray) -> np.ndarray:
    """Whether teeth meet, on the fine grid: not before the push, and not once the dogs are in."""
    return np.interp(fine_s, shafts.time_s, sounding, left=0.0, right=0.0) > 0.5


def _ring(struck: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """What the structure makes of the blows: three resonances between 250 and 700 Hz, (m,) → (m, 3)."""
    total = np.zeros((struck.size, 3))
    for low, high in ((250, 400), (350, 550), (500, 700)):
        turn, fade = 2 * np.pi * rng.uniform(low, high) / FINE_HZ, np.exp(-1 / (rng.uniform(0.003, 0.009) * FINE_HZ))
        rung = signal.lfilter([0.0, fade * np.sin(turn)], [1.0, -2 * fade * np.cos(turn), fade**2], struck)
        total += np.outer(rung, rng.normal(0, 1, 3))
    return total
