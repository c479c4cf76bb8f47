"""Idles and roads made by hand: a bearing that is loud in one state of the clutch, gears that whine."""

import numpy as np
from scipy import signal

from shiftlog.pipeline import load_drive, measure_drive

from .made import Log, MadeDrive, Mark, accel_log, engine_hum, rpm_per_mps

RATE_HZ = 3200.0
HELD_S = 10.0
STATES = ("clutch up", "just touched", "clutch down")


def _noise(rng, count: int, band: tuple[float, float], rms: float) -> np.ndarray:
    sos = signal.butter(4, band, "bandpass", fs=RATE_HZ, output="sos")
    heard = signal.sosfilt(sos, rng.normal(0, 1, (count, 3)), axis=0)
    return rms * heard / np.sqrt(np.mean(np.sum(heard**2, axis=1)))


def tell_idle(
    folder, *, loud: dict[str, float], band=(320.0, 760.0), by: str = "pedal", seed: int = 0, rate_hz=RATE_HZ,
    held_s=HELD_S, pedal_reads=(0.0, 1.0),
):  # fmt: skip
    """Two rounds of ten seconds a state, or of ``held_s``.

    loud : r.m.s. of a bearing in each state [m/s²]; by : how states are told; pedal_reads : at its stop, at the floor
    """
    rng = np.random.default_rng([seed, 61])
    time_s = np.arange(0, 6 * HELD_S, 1 / RATE_HZ)
    rpm = 840 + 10 * np.sin(2 * np.pi * 0.3 * time_s)
    accel = engine_hum(time_s, rpm, rng) + _noise(rng, time_s.size, (60, 1200), 0.15)
    index = (time_s // held_s).astype(int) % 3
    for k, state in enumerate(STATES):
        if loud.get(state):
            accel += _noise(rng, time_s.size, band, loud[state]) * (index == k)[:, None]
    slow = np.arange(0, 6 * HELD_S, 0.05)
    pedal = np.array([0.0, 0.25, 1.0])[(slow // held_s).astype(int) % 3]
    columns = {"engine_speed [rpm]": np.round(np.interp(slow, time_s, rpm), 1)}
    if by == "pedal":
        columns["clutch"] = pedal_reads[0] + (pedal_reads[1] - pedal_reads[0]) * pedal
    step = round(RATE_HZ / rate_hz)
    logs = [accel_log(time_s[::step], accel[::step]), Log(name="bus", place="engine", time_s=slow, columns=columns)]
    marks = [Mark(kind="bearing_noise", start_s=0.0, end_s=6 * HELD_S)]
    if by == "marks":
        marks = [
            Mark(kind="bearing_noise", start_s=k * HELD_S + 0.5, end_s=(k + 1) * HELD_S - 0.5, configuration=state)
            for k, state in enumerate(STATES)
        ]
    MadeDrive(logs=logs, marks=marks).write(folder)
    return measure_drive(load_drive(folder)).guided[-1]


def tell_road(folder, *, teeth: dict[str, int], sizes: dict[str, float], seed: int = 0):
    """Each gear six seconds under drive and six on the overrun; its mesh turns with the input shaft."""
    rng = np.random.default_rng([seed, 67])
    slow = np.arange(0, 12.0 * len(teeth) + 2, 0.05)
    rpm, speed, pedal = np.full(slow.size, 900.0), np.full(slow.size, 3.0), np.zeros(slow.size)
    gear_at = np.full(slow.size, "N")
    for k, gear in enumerate(teeth):
        for part, (start, stop, throttle) in enumerate(((2200, 3200, 90.0), (3200, 2400, 0.0))):
            inside = (slow >= 12 * k + 6 * part) & (slow < 12 * k + 6 * part + 6)
            rpm[inside] = np.linspace(start, stop, inside.sum())
            speed[inside] = rpm[inside] / rpm_per_mps(gear)
            pedal[inside], gear_at[inside] = throttle, gear
    time_s = np.arange(0, slow[-1], 1 / RATE_HZ)
    turns_hz = np.interp(time_s, slow, rpm) / 60
    angle = np.cumsum(turns_hz) / RATE_HZ
    accel = engine_hum(time_s, 60 * turns_hz, rng) + _noise(rng, time_s.size, (60, 1250), 0.3)
    for k, (gear, count) in enumerate(teeth.items()):
        inside = (time_s >= 12 * k) & (time_s < 12 * k + 12)
        accel[:, 2] += inside * sizes[gear] * np.sin(2 * np.pi * count * angle)
    columns = {
        "engine_speed [rpm]": np.round(rpm, 1), "vehicle_speed [km/h]": np.round(3.6 * speed, 2),
        "throttle [%]": pedal,
    }  # fmt: skip
    logs = [accel_log(time_s, accel), Log(name="bus", place="engine", time_s=slow, columns=columns)]
    marks = [Mark(kind="bearing_noise", start_s=0.5, end_s=12.0 * len(teeth) - 0.5, configuration="road")]
    MadeDrive(logs=logs, marks=marks).write(folder)
    return measure_drive(load_drive(folder)).guided[-1]
