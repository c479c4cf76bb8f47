"""Spans under drive and on the overrun within a stay in gear, and where the lever lies in them."""

from dataclasses import dataclass

import numpy as np

from shiftlog.errors import CannotMeasure
from shiftlog.model.drive import Signals
from shiftlog.model.lever import LeverPath
from shiftlog.signal.crossing import find_runs
from shiftlog.signal.slope import slope

DRIVE, OVERRUN = "drive", "overrun"
OPEN_SHARE, SHUT_SHARE = 0.6, 0.05
"""Of the throttle's travel: from here on full drive, and below this overrun."""
GAINS_MPS2, LOSES_MPS2 = 0.4, -0.25
"""Without a throttle: what a car gains under drive, and loses on the overrun (common practice, no source)."""
LEAST_S, LONGEST_S, TAKES_S = 2.0, 6.0, 0.6
"""A span shorter than the first is a quick change; what a lever does before the last is the step of the torque."""
GRID_HZ = 20.0
STAY_DEPTH, LEAST_STAY_S = 0.45, 1.0
"""A gear that walks out is still in until here; teeth let go at about half."""
BEFORE_S = 0.4


@dataclass(frozen=True, eq=False, kw_only=True)
class TorqueSpan:
    """The lever in one gear under one torque, along the gate, absolute (forward positive) [mm].

    step_mm : how far it moved as the torque came; drift_mm : how far it went on in the span, with u_mm
    way : +1 where the gear lies forward, -1 rearward; stays_out_mm : how far out of its seat it was left afterwards,
    None where the stay ended; ends_s : end of the span
    """

    gear: str
    direction: str
    start_s: float
    ends_s: float
    way: int
    step_mm: float | None
    drift_mm: float | None
    u_mm: float
    stays_out_mm: float | None


def find_torque_spans(path: LeverPath, signals: Signals, start_s: float, end_s: float) -> tuple[TorqueSpan, ...]:
    """Spans in order of time. CannotMeasure where nothing tells drive from overrun."""
    at_s = np.arange(start_s, end_s, 1 / GRID_HZ)
    torque = torque_course(signals, at_s)
    found = []
    for stay, gear in _stays(path, start_s, end_s):
        inside = (at_s >= path.time_s[stay.start]) & (at_s <= path.time_s[stay.stop - 1])
        for direction, sign in ((DRIVE, 1), (OVERRUN, -1)):
            for a, b in find_runs(inside & (torque == sign)):
                if (b - a) / GRID_HZ > TAKES_S:
                    found.append(_span(path, stay, gear, direction, float(at_s[a]), float(at_s[b - 1])))
    return tuple(sorted(found, key=lambda span: span.start_s))


def torque_course(signals: Signals, at_s: np.ndarray) -> np.ndarray:
    """+1 under drive, -1 on the overrun, 0 between, on a grid of ``GRID_HZ``, (n,) int. CannotMeasure."""
    if signals.throttle is not None:
        pedal = np.interp(at_s, signals.throttle.time_s, signals.throttle.values)
        return np.where(pedal > OPEN_SHARE, 1, np.where(pedal < SHUT_SHARE, -1, 0))
    if signals.vehicle_speed is None:
        raise CannotMeasure("neither throttle nor vehicle speed is logged: drive and overrun cannot be told apart")
    speed = np.interp(at_s, signals.vehicle_speed.time_s, signals.vehicle_speed.values)
    gains = slope(speed, GRID_HZ, 0.6)
    return np.where(gains > GAINS_MPS2, 1, np.where(gains < LOSES_MPS2, -1, 0))


def _stays(path: LeverPath, start_s: float, end_s: float) -> list[tuple[slice, str]]:
    first, last = path.index(start_s), path.index(end_s) + 1
    inside = (path.depth[first:last] > STAY_DEPTH) & path.valid[first:last] & (path.gear[first:last] >= 0)
    stays = []
    for a, b in find_runs(inside):
        if b - a >= LEAST_STAY_S * path.rate_hz:
            gear = path.gears[int(np.bincount(path.gear[first + a : first + b]).argmax())]
            stays.append((slice(int(first + a), int(first + b)), gear))
    return stays


def _span(path: LeverPath, stay: slice, gear: str, direction: str, start_s: float, end_s: float) -> TorqueSpan:
    way = int(np.sign(path.engage_mm[stay].mean()))
    begins, ends = path.index(start_s), min(path.index(min(end_s, start_s + LONGEST_S)), stay.stop - 1)
    before = path.engage_mm[max(stay.start, begins - round(BEFORE_S * path.rate_hz)) : begins]
    settled = slice(begins + round(TAKES_S * path.rate_hz), ends)
    lasts_s = (settled.stop - settled.start) / path.rate_hz
    shared = {"gear": gear, "direction": direction, "start_s": start_s, "ends_s": end_s, "way": way}
    if lasts_s < LEAST_S - TAKES_S or before.size < 0.1 * path.rate_hz:
        return TorqueSpan(**shared, step_mm=None, drift_mm=None, u_mm=path.noise_mm, stays_out_mm=None)
    place = path.engage_mm[settled]
    edge = max(round(0.3 * path.rate_hz), 3)
    first, last = float(np.median(place[:edge])), float(np.median(place[-edge:]))
    return TorqueSpan(
        **shared, step_mm=first - float(np.median(before)), drift_mm=last - first, u_mm=2 * path.noise_mm / np.sqrt(3),
        stays_out_mm=_left_out(path, stay, float(np.median(before)), end_s, way),
    )  # fmt: skip


def _left_out(path: LeverPath, stay: slice, before_mm: float, end_s: float, way: int) -> float | None:
    """How much further out than before the span the lever lies once its torque has gone [mm]."""
    first = path.index(end_s + TAKES_S)
    after = path.engage_mm[first : min(first + round(BEFORE_S * path.rate_hz), stay.stop)]
    if after.size < 0.1 * path.rate_hz:
        return None
    return float(way * (before_mm - np.median(after)))
