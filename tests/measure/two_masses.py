"""A driveline written apart from the synthesiser: engine and car on one spring, a slipping clutch, a shaking road."""

import math
from dataclasses import dataclass

import numpy as np
from scipy import signal

from shiftlog.measure.scene import Scene
from shiftlog.model.car import Car
from shiftlog.model.drive import Signals
from shiftlog.model.recording import Calibration
from shiftlog.model.settings import Settings
from shiftlog.model.shift import Shift
from shiftlog.model.trace import Trace

STEP_S = 0.001
GAP_S = 9.0
"""From one shift to the next."""


@dataclass(frozen=True, kw_only=True)
class TwoMasses:
    """frequency_hz, damping of the free swing with the clutch locked; ratio : engine rad/s for each m/s of the car."""

    frequency_hz: float = 4.0
    damping: float = 0.1
    mass_kg: float = 1300.0
    engine_kgm2: float = 0.2
    ratio: float = 25.0


@dataclass(frozen=True, eq=False, kw_only=True)
class Run:
    """scene : as measured; truth : clean acceleration (n,) on STEP_S; by shift, locks_s : when the clutch locked, and
    envelopes_mps2 : of the free swing then."""

    scene: Scene
    truth: np.ndarray
    locks_s: tuple[float, ...]
    envelopes_mps2: tuple[float, ...]


def drive(car: TwoMasses, *, shifts: int, rate_hz: float, shake: float, seed: int, brake: bool = False) -> Run:
    """Shifts one after another, each with its own throttle, slip and length of take-up."""
    rng = np.random.default_rng(seed)
    ends = 6.0 + GAP_S * np.arange(shifts)
    accel, engine, speed, pedal, locks, envelopes = _integrate(car, ends, rng, brake=brake)
    time = np.arange(accel.size) * STEP_S
    noisy = accel + _road(time, shake, rng)
    sos = signal.butter(4, 0.42 * rate_hz, fs=1 / STEP_S, output="sos")
    every = int(round(1 / (rate_hz * STEP_S)))
    felt = signal.sosfiltfilt(sos, noisy)[::every] * (1 + rng.normal(0, 0.01)) + rng.normal(0, 0.3)
    felt = felt + rng.normal(0, 0.03, felt.size)
    up = np.full(felt.size, 9.81) + 1.6 * _road(time, shake, rng)[::every]
    slow = slice(None, None, 20)
    body = _trace(time[::every], np.column_stack([felt, np.zeros(felt.size), up]), "box", "body")
    turns = engine * 60 / (2 * np.pi) + rng.normal(0, 4, engine.size)
    signals = Signals(
        accel_vehicle={"body": body}, accel={"body": body}, calibration={"box": Calibration(gain=0.01, stated=True)},
        engine_speed=_trace(time[slow], turns[slow], "bus", "engine"),
        vehicle_speed=_trace(time[slow], speed[slow], "bus", "engine"),
        clutch=_trace(time[slow], pedal[slow], "bus", "engine"),
    )  # fmt: skip
    found = tuple(
        Shift(
            number=i + 1, from_gear="2", to_gear="3", start_s=float(end) - 0.35, end_s=float(end), seen_by="lever",
            outcome="clean",
        )
        for i, end in enumerate(ends)
    )  # fmt: skip
    scene = Scene(
        signals=signals, car=Car(name="two masses", gate=None), path=None, settings=Settings(), shifts=found,
        rpm_per_mps={"3": car.ratio * 60 / (2 * np.pi)},
    )  # fmt: skip
    return Run(scene=scene, truth=accel, locks_s=tuple(locks), envelopes_mps2=tuple(envelopes))


def _trace(time: np.ndarray, values: np.ndarray, recording: str, place: str) -> Trace:
    return Trace(
        time_s=time.copy(), values=values.copy(), spans=((float(time[0]), float(time[-1])),),
        rate_hz=1 / float(time[1] - time[0]), recording=recording, place=place,
    )  # fmt: skip


def _integrate(car: TwoMasses, ends: np.ndarray, rng: np.random.Generator, *, brake: bool):
    """Engine and car as two inertias; while the clutch slips its torque alone drives the car through the spring."""
    seen_kg = car.engine_kgm2 * car.ratio**2
    disc_kg = 0.02 * car.mass_kg
    joined = 1 / (1 / (seen_kg + disc_kg) + 1 / car.mass_kg)
    omega = 2 * np.pi * car.frequency_hz
    stiff, damp = joined * omega**2, 2 * car.damping * joined * omega
    count = int((ends[-1] + GAP_S) / STEP_S)
    throttle, pedal = _pedals(count, ends, rng)
    drag = np.full(count, 0.1)
    for end in ends if brake else ():
        drag[int((end + 1.0) / STEP_S) : int((end + 2.0) / STEP_S)] = 2.5
    inputs = zip(throttle.tolist(), pedal.tolist(), drag.tolist(), strict=True)
    twist, car_v, disc_v, engine_v = 0.0, 15.0, 15.0, 15.0
    locked, locks, envelopes = True, [], []
    rows = np.empty((count, 3))
    for i, (opened, down, slope) in enumerate(inputs):
        spring = stiff * twist + damp * (disc_v - car_v)
        push = opened * car.mass_kg
        accel = spring / car.mass_kg - slope
        most = 6.0 * car.mass_kg * max(1 - down, 0.0) ** 1.5
        if locked and down > 0.9:
            locked = False
        if locked:
            disc_v += (push - spring) / (seen_kg + disc_kg) * STEP_S
            engine_v = disc_v
        else:
            slip = engine_v - disc_v
            passed = most * math.tanh(slip / 0.15)
            engine_v = max(engine_v + (push - passed) / seen_kg * STEP_S, 0.0)
            before = slip
            disc_v += (passed - spring) / disc_kg * STEP_S
            if down < 0.6 and abs(before) < 0.08:
                locked = True
                locks.append(i * STEP_S)
                # Twist that the torque, climbing as it does, asks for; what there is besides swings freely.
                asks = np.array([throttle[i - 1], throttle[i + 1]]) * car.mass_kg / (seen_kg + disc_kg) + slope
                climbs = (asks[1] - asks[0]) / (2 * STEP_S) / omega**2
                off = twist - (asks.mean() / omega**2 - 2 * car.damping / omega * climbs)
                rate = disc_v - car_v - climbs
                envelopes.append(_envelope(car, off, rate) * joined / car.mass_kg)
        twist += (disc_v - car_v) * STEP_S
        car_v += accel * STEP_S
        rows[i] = accel, engine_v * car.ratio, car_v
    return rows[:, 0], rows[:, 1], rows[:, 2], pedal, locks, envelopes


def _envelope(car: TwoMasses, off: float, rate: float) -> float:
    """Of the force for each unit of joined mass, from twist and its rate off what is asked for [m/s²]."""
    omega = 2 * np.pi * car.frequency_hz
    pole = omega * complex(-car.damping, np.sqrt(1 - car.damping**2))
    swing = complex(off, -(rate + car.damping * omega * off) / pole.imag)
    return abs(swing) * abs(omega**2 + 2 * car.damping * omega * pole)


def _pedals(count: int, ends: np.ndarray, rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    time = np.arange(count) * STEP_S
    throttle, pedal = np.zeros(count) + 0.1, np.zeros(count)
    level = 0.1
    for end in ends:
        goes_on, lasts = rng.uniform(0.8, 2.0), rng.uniform(0.25, 0.6)
        throttle = np.interp(time, [end - 0.6, end - 0.45, end - 0.1, end + 0.4], [level, -0.3, 0.4, goes_on]) * (
            time >= end - 0.6
        ) + throttle * (time < end - 0.6)
        level = rng.uniform(0.0, 0.2)
        settled = np.interp(time, [end + 4, end + 5], [goes_on, level])
        throttle = np.where(time > end + 4, settled, throttle)
        pedal = np.maximum(pedal, np.interp(time, [end - 0.5, end - 0.4, end + 0.05, end + 0.05 + lasts], [0, 1, 1, 0]))
    return throttle, pedal


def _road(time: np.ndarray, shake: float, rng: np.random.Generator) -> np.ndarray:
    """Body bounce, wheel hop and broad noise, r.m.s. ``shake``."""
    white = rng.normal(0, 1, (3, time.size))
    bands = ((rng.uniform(1.1, 1.4), rng.uniform(1.6, 1.9)), (9.0, 14.0), (2.0, 60.0))
    parts = []
    for noise, edges in zip(white, bands, strict=True):
        sos = signal.butter(1, edges, "bandpass", fs=1 / STEP_S, output="sos")
        part = signal.sosfilt(sos, noise)
        parts.append(part / part.std())
    return shake * np.dot([0.5, 0.6, 0.62], parts)
