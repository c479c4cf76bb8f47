"""The true swing and clunk of the driveline after a shift, from the vehicle model's own state."""

from dataclasses import dataclass

import numpy as np
from scipy import signal

from shiftlog.model.reading import Reading, measured, unmeasured
from shiftlog.model.shift import Shift
from shiftlog.synth.cars import SynthCar
from shiftlog.synth.vehicle import RPM, STEP_S, Motion, engine_torque, omega_per_mps, shuffle_hz

TAKE_UP_WITHIN_S = 3.0
"""A clutch that is not up by then was held on purpose."""
LOCKED_S = 0.4
"""How long the clutch has to hold: under two swings of a slow driveline nothing can be called a swing."""
BITES_BELOW = 0.97
"""The clutch carries nothing with the pedal further down than this."""
JERK_HZ, JERK_S = 30.0, 1.5
FINER = 4

SWING_KEYS = ("shuffle_hz", "shuffle_damping", "shuffle_amplitude_mps2")


@dataclass(frozen=True, eq=False, kw_only=True)
class TakeUp:
    """``bites_s``: the clutch begins to carry; ``locks_s``: it slips no more; ``until_s``: it opens again [s]."""

    bites_s: float
    locks_s: float
    until_s: float


def find_take_up(motion: Motion, end_s: float, until_s: float) -> TakeUp | None:
    """The clutch's take-up after a gear went in at ``end_s`` and before ``until_s``, or None where there is none."""
    first = int(np.ceil(end_s / STEP_S))
    last = min(int(min(end_s + TAKE_UP_WITHIN_S, until_s) / STEP_S), motion.time_s.size)
    closed, hold = motion.closed[first:], int(LOCKED_S / STEP_S)
    edges = np.flatnonzero(np.diff(np.concatenate(([0], closed[: last - first + hold].astype(int), [0]))))
    for on, off in zip(edges[::2], edges[1::2], strict=True):
        if off - on >= hold and on < last - first:
            lock = first + int(on)
            open_before = np.flatnonzero(motion.clutch[:lock] >= BITES_BELOW)
            bite = open_before[-1] + 1 if open_before.size else lock
            later = np.flatnonzero(~motion.closed[lock:])
            until = lock + int(later[0]) if later.size else motion.time_s.size - 1
            times = motion.time_s[[max(bite, first), lock, until]]
            return TakeUp(bites_s=float(times[0]), locks_s=float(times[1]), until_s=float(times[2]))
    return None


def driveline_readings(
    shift: Shift, take_up: TakeUp | None, why: str | None, motion: Motion, led_mps2: np.ndarray, synth_car: SynthCar
) -> list[Reading]:
    """Swing and jerk of one shift. ``led_mps2`` (n,) is what the car's own motion gives the body along x."""
    if take_up is None:
        return [unmeasured(key, why) for key in (*SWING_KEYS, "jerk_p2p_mps3")]
    gear = shift.from_gear if shift.outcome == "out_and_back" else shift.to_gear
    frequency_hz, damping = locked_mode(synth_car, gear)
    figures = (frequency_hz, damping, swing_envelope(motion, take_up.locks_s, synth_car, gear))
    found = [measured(key, value) for key, value in zip(SWING_KEYS, figures, strict=True)]
    return [*found, measured("jerk_p2p_mps3", peak_jerk(motion.time_s, led_mps2, take_up))]


def locked_mode(synth_car: SynthCar, gear: str) -> tuple[float, float]:
    """Undamped frequency [Hz] and damping ratio of the swing with the clutch locked, of the model as it is stepped.

    The engine's inertia, seen through the ratio, rides on the car's mass: μ = J k² / m stiffens the swing.
    """
    omega, damping = 2 * np.pi * shuffle_hz(synth_car, gear), synth_car.shuffle_damping
    stiff = omega**2 * (1 + _mu(synth_car, gear))
    rate = np.array([-STEP_S * stiff, 1 - 2 * damping * omega * STEP_S])
    step = np.array([[1 + STEP_S * rate[0], STEP_S * rate[1]], rate])
    pole = np.log(np.linalg.eigvals(step).astype(complex)[0]) / STEP_S
    return float(abs(pole) / (2 * np.pi)), float(-pole.real / abs(pole))


def swing_envelope(motion: Motion, locks_s: float, synth_car: SynthCar, gear: str) -> float:
    """Envelope of the free swing at the instant the clutch locks [m/s²].

    Force at the wheels less what the engine's torque, rising on as it does then, asks for; its own rate beside it.
    """
    mass, k = synth_car.mass_kg, abs(omega_per_mps(synth_car, gear))
    frequency_hz, damping = locked_mode(synth_car, gear)
    omega = 2 * np.pi * frequency_hz
    at = int(round(locks_s / STEP_S))
    near = slice(at, at + 3)
    pulls = [
        engine_torque(synth_car, rpm / RPM, throttle)
        for rpm, throttle in zip(motion.engine_rpm[near], motion.throttle[near], strict=True)
    ]
    asked = k * np.array(pulls) / (1 + _mu(synth_car, gear))
    climbs = (asked[-1] - asked[0]) / (STEP_S * (asked.size - 1))
    sign = -1.0 if gear == "R" else 1.0
    off = sign * motion.force_n[at] - (asked[0] - 2 * damping / omega * climbs)
    rate = sign * (motion.force_n[at + 1] - motion.force_n[at - 1]) / (2 * STEP_S) - climbs
    swings = omega * np.sqrt(1 - damping**2)
    return float(np.hypot(off, (rate + damping * omega * off) / swings) / mass)


def peak_jerk(time_s: np.ndarray, led_mps2: np.ndarray, take_up: TakeUp) -> float:
    """Peak-to-peak jerk from the bite to 1.5 s after the lock, low-passed at 30 Hz (N = 4, zero phase) [m/s³]."""
    near = (time_s > take_up.bites_s - 1.0) & (time_s < take_up.locks_s + JERK_S + 1.0)
    fine = signal.resample_poly(led_mps2[near] - led_mps2[near][0], FINER, 1, padtype="line")
    step_s = STEP_S / FINER
    sos = signal.butter(4, JERK_HZ, fs=1 / step_s, output="sos")
    jerk = np.gradient(signal.sosfiltfilt(sos, fine), step_s)
    fine_s = time_s[near][0] + np.arange(fine.size) * step_s
    return float(np.ptp(jerk[(fine_s >= take_up.bites_s) & (fine_s <= take_up.locks_s + JERK_S)]))


def _mu(synth_car: SynthCar, gear: str) -> float:
    return synth_car.engine_inertia_kgm2 * omega_per_mps(synth_car, gear) ** 2 / synth_car.mass_kg
