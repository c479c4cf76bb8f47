"""Spans of one torque within a stay in gear, and where the lever lies in them."""

from dataclasses import dataclass

import numpy as np

from shiftlog.errors import CannotMeasure
from shiftlog.measure.throttle import find_closed
from shiftlog.model.drive import Signals
from shiftlog.model.lever import LeverPath
from shiftlog.model.trace import Trace
from shiftlog.signal.crossing import find_runs
from shiftlog.signal.resample import hold_last
from shiftlog.signal.slope import slope, smooth

DRIVE, OVERRUN, STEADY = "drive", "overrun", "steady"
STATES = {1: DRIVE, -1: OVERRUN, 0: STEADY}
OPEN_SHARE, LEAST_OPEN, SHUT = 0.6, 0.2, 0.05
"""Open by so much of the furthest it was, and of its travel, the engine drives; by less than the last it overruns."""
TOP_QUANTILE = 0.98
GAINS_MPS2, LOSES_MPS2 = 0.4, -0.25
"""Without a throttle: what a car gains under drive, and loses on the overrun (common practice, no source)."""
GAINS_OVER_S = 0.6
LEAST_S, TAKES_S = 2.0, 0.6
"""A span shorter than the first is a quick change; what a lever does before the last is the step of the torque."""
EDGE_S, LEAST_EDGE_S = 0.3, 0.1
"""Over so much at both ends of a span the lever's place is taken, or over what there is of it, down to the second."""
GRID_HZ = 20.0
STAY_DEPTH, LEAST_STAY_S = 0.45, 1.0
"""A gear that walks out is still in until here; teeth let go at about half."""


@dataclass(frozen=True, eq=False, kw_only=True)
class TorqueSpan:
    """The lever in one gear under one torque, along the gate, absolute (forward positive) [mm].

    stay : number of the stay in gear; way : +1 where the gear lies forward, -1 rearward
    before_mm : where it lay as the torque came, begins_mm : once it had followed the torque, ends_mm : at the end of
    the span; each None where the span is too short for it; u_mm : standard uncertainty of each
    """

    gear: str
    direction: str
    stay: int
    start_s: float
    ends_s: float
    way: int
    before_mm: float | None
    begins_mm: float | None
    ends_mm: float | None
    u_mm: float

    @property
    def lasts(self) -> bool:
        """Whether it is more than a quick change."""
        return self.ends_s - self.start_s >= LEAST_S

    @property
    def step_mm(self) -> float | None:
        """How far the lever moved as the torque came."""
        known = self.lasts and self.before_mm is not None and self.begins_mm is not None
        return self.begins_mm - self.before_mm if known else None

    @property
    def drift_mm(self) -> float | None:
        """How far it went on while the torque lasted."""
        known = self.lasts and self.ends_mm is not None and self.begins_mm is not None
        return self.ends_mm - self.begins_mm if known else None


def find_torque_spans(path: LeverPath, signals: Signals, start_s: float, end_s: float) -> tuple[TorqueSpan, ...]:
    """All spans, steady ones too, in order of time. CannotMeasure where nothing tells drive from overrun."""
    at_s = np.arange(start_s, end_s, 1 / GRID_HZ)
    torque = torque_course(signals, at_s)
    steady = _is_steady(signals, at_s)
    found = []
    for number, (stay, gear) in enumerate(_stays(path, signals, start_s, end_s)):
        inside = (at_s >= path.time_s[stay.start]) & (at_s <= path.time_s[stay.stop - 1])
        for sign, direction in STATES.items():
            for a, b in find_runs(inside & (torque == sign) & (steady | (sign != 0))):
                if (b - a) / GRID_HZ > TAKES_S:
                    found.append(_span(path, stay, number, gear, direction, float(at_s[a]), float(at_s[b - 1])))
    return tuple(sorted(found, key=lambda span: span.start_s))


def torque_course(signals: Signals, at_s: np.ndarray) -> np.ndarray:
    """+1 under drive, -1 on the overrun, 0 between, on a grid of ``GRID_HZ``, (n,) int. CannotMeasure.

    By the throttle; without one by what the car gains, from its speed or a body accelerometer.
    """
    if signals.throttle is not None:
        opened = _opened(signals.throttle, at_s)
        least = max(OPEN_SHARE * float(np.quantile(opened, TOP_QUANTILE)), LEAST_OPEN) if opened.size else LEAST_OPEN
        return np.where(opened > least, 1, np.where(opened < SHUT, -1, 0))
    gains = _gains(signals, at_s)
    return np.where(gains > GAINS_MPS2, 1, np.where(gains < LOSES_MPS2, -1, 0))


def _opened(throttle: Trace, at_s: np.ndarray) -> np.ndarray:
    """Share of its travel beyond where it is closed, (n,)."""
    return np.interp(at_s, throttle.time_s, throttle.values) - find_closed(throttle)


def _is_steady(signals: Signals, at_s: np.ndarray) -> np.ndarray:
    """Where the car neither gains nor loses, (n,) bool: a throttle half open may drive as hard as any."""
    if signals.vehicle_speed is None and "body" not in signals.accel_vehicle:
        return np.ones(at_s.size, bool)
    return np.abs(_gains(signals, at_s)) < GAINS_MPS2


def state_before(signals: Signals, at_s: float) -> str:
    """Drive or overrun, whichever the car was nearer to in the half second before; at part throttle too."""
    before = np.arange(at_s - 0.5, at_s, 1 / GRID_HZ)
    if signals.throttle is not None:
        return DRIVE if np.median(_opened(signals.throttle, before)) > SHUT else OVERRUN
    return DRIVE if np.median(_gains(signals, before)) > 0 else OVERRUN


def _gains(signals: Signals, at_s: np.ndarray) -> np.ndarray:
    """What the car gains [m/s²], (n,). An accelerometer feels a slope as well, of 4 % as much as ``GAINS_MPS2``."""
    if signals.vehicle_speed is not None:
        speed = np.interp(at_s, signals.vehicle_speed.time_s, signals.vehicle_speed.values)
        return slope(speed, GRID_HZ, GAINS_OVER_S)
    body = signals.accel_vehicle.get("body")
    if body is None:
        raise CannotMeasure(
            "nothing tells drive from overrun: log throttle or vehicle speed, or fit an accelerometer to the body and "
            "give its axes"
        )
    forward = smooth(body.values[:, 0], body.rate_hz, GAINS_OVER_S)
    return np.interp(at_s, body.time_s, forward)


def _stays(path: LeverPath, signals: Signals, start_s: float, end_s: float) -> list[tuple[slice, str]]:
    """Stays in one gear; a clutch pressed in between begins another, as the hand may have put the lever right."""
    first, last = path.index(start_s), path.index(end_s) + 1
    inside = (path.depth[first:last] > STAY_DEPTH) & path.valid[first:last] & (path.gear[first:last] >= 0)
    if signals.clutch is not None:
        clutch = hold_last(signals.clutch.time_s, signals.clutch.values, path.time_s[first:last])
        inside &= clutch < 0.5
    stays = []
    for a, b in find_runs(inside):
        if b - a >= LEAST_STAY_S * path.rate_hz:
            gear = path.gears[int(np.bincount(path.gear[first + a : first + b]).argmax())]
            stays.append((slice(int(first + a), int(first + b)), gear))
    return stays


def _span(
    path: LeverPath, stay: slice, number: int, gear: str, direction: str, start_s: float, end_s: float
) -> TorqueSpan:  # fmt: skip
    begins, ends = path.index(start_s), min(path.index(end_s), stay.stop - 1)
    edge, settled = round(EDGE_S * path.rate_hz), begins + round(TAKES_S * path.rate_hz)
    return TorqueSpan(
        gear=gear, direction=direction, stay=number, start_s=start_s, ends_s=end_s,
        way=int(np.sign(path.engage_mm[stay].mean())), before_mm=_place(path, max(stay.start, begins - edge), begins),
        begins_mm=_place(path, settled, min(settled + edge, ends)),
        ends_mm=_place(path, max(settled, ends - edge), ends), u_mm=path.noise_mm / np.sqrt(3),
    )  # fmt: skip


def _place(path: LeverPath, first: int, last: int) -> float | None:
    """Median along the gate [mm], or None over less than ``LEAST_EDGE_S``."""
    if last - first < max(LEAST_EDGE_S * path.rate_hz, 3):
        return None
    return float(np.median(path.engage_mm[first:last]))
