"""The lever's path in gate mm, how deep it lies in which gear, and its stays in gear and pushes at gears."""

from dataclasses import dataclass

import numpy as np

from shiftlog.detect.dwells import spread_evenly
from shiftlog.detect.gates import map_to_gate
from shiftlog.model.gate import GateMap
from shiftlog.model.lever import LeverPath
from shiftlog.model.settings import Settings
from shiftlog.model.trace import Trace
from shiftlog.signal.crossing import find_runs
from shiftlog.signal.slope import slope, smooth

# Readings are smoothed by a parabola over this window: short against a move within a slot (0.1 s and more), long
# against the sampling of a lever at 250 Hz.
SMOOTH_S = 0.028
# First pass, against the map's seats, that engine rock and a hand may move by a millimetre or two; the local seat then
# decides with the definition's own levels. A journey needs neutral, so that nothing hangs on the level of leaving.
FIRST_ENTER, FIRST_LEAVE = 0.8, 0.6
# Seats of a sound gate lie this far off their places, one standard deviation (common practice, no source); it counts as
# much as so many seats.
USUAL_OFF_MM, USUAL_SEATS = 0.3, 3
PRIOR = 0.01


@dataclass(frozen=True, eq=False, kw_only=True)
class Excursion:
    """One trip off the neutral line, index range [start, stop): to one side, in the plane where it went deepest.

    gear : where it went, None where the gate has no gear there; peak : deepest depth by the map's seat
    stays : index ranges in gear (first pass)
    """

    start: int
    stop: int
    gear: str | None
    seat_mm: float
    peak: float
    stays: tuple[tuple[int, int], ...]


def build_path(lever: Trace, gate: GateMap, settings: Settings) -> LeverPath:
    """Smooth, map and grade a lever trace."""
    even = spread_evenly(lever)
    raw_mm = map_to_gate(gate, even.raw)
    mm = smooth(raw_mm, even.rate_hz, SMOOTH_S)
    fast = slope(raw_mm, even.rate_hz, settings.fast_window_s)
    still = np.linalg.norm(slope(raw_mm, even.rate_hz, settings.still_window_s), axis=1)
    depth, gear, seats = _grade(mm, gate)
    return LeverPath(
        time_s=even.time_s, select_mm=mm[:, 0], engage_mm=mm[:, 1], engage_mmps=fast[:, 1], still_mmps=still,
        depth=depth, gear=gear, gears=gate.layout.gears, seat_mm=seats, zero_u_mm=_zero_uncertainty(gate),
        valid=even.valid, rate_hz=even.rate_hz,
        noise_mm=_smoothed_noise(gate, even.rate_hz),
    )  # fmt: skip


def _zero_uncertainty(gate: GateMap) -> np.ndarray:
    """How well the map knows the neutral line in the plane of each gear, (g,) [mm].

    The map's engage axis is a plane through the seats; where seats do not lie on it, or lie few and on one side, its
    zero is as uncertain as that regression leaves it. Seats lie off by ``USUAL_OFF_MM`` where nothing tells better.
    """
    places = np.array([gate.layout.position_mm(s.gear) for s in gate.seats])
    off = np.array([s.off_mm[1] for s in gate.seats])
    if gate.scale == "absolute":
        # Travel that is short on both sides alike leaves the line midway where it is.
        off = off - np.sign(places[:, 1]) * np.mean(off * np.sign(places[:, 1]))
    design = np.column_stack([np.ones(len(places)), places / gate.layout.plane_pitch_mm])
    spare = max(len(places) - 3, 0)
    spread2 = (USUAL_SEATS * USUAL_OFF_MM**2 + float(np.sum(off**2))) / (USUAL_SEATS + spare)
    # A seat of prior knowledge keeps the inverse finite where the seats lie in one plane or on one side.
    covariance = spread2 * np.linalg.inv(design.T @ design + PRIOR * np.eye(3))
    zero = np.array([[1.0, gate.layout.position_mm(g)[0] / gate.layout.plane_pitch_mm, 0.0] for g in gate.layout.gears])
    return np.sqrt(np.einsum("gi,ij,gj->g", zero, covariance, zero))


def _smoothed_noise(gate: GateMap, rate_hz: float) -> float:
    """Standard uncertainty of a smoothed reading: smoothing takes away noise, and nothing of what drifts."""
    quick = np.sqrt(max(gate.noise_mm**2 - gate.slow_mm**2, 0.0)) * _smoothing_gain(rate_hz)
    return float(np.hypot(quick, gate.slow_mm))


def _smoothing_gain(rate_hz: float) -> float:
    """Standard deviation of white noise after smoothing, as a share of that before."""
    impulse = np.zeros(41)
    impulse[20] = 1.0
    return float(np.sqrt(np.sum(smooth(impulse, rate_hz, SMOOTH_S) ** 2)))


def seat_positions(gate: GateMap) -> dict[str, tuple[float, float]]:
    """Each gear's place, (select, engage) mm: where the lever lay, else the layout's place."""
    places = {g: gate.layout.position_mm(g) for g in gate.layout.gears}
    places.update({s.gear: (s.select_mm, s.engage_mm) for s in gate.seats})
    return places


def plane_centres(gate: GateMap) -> np.ndarray:
    """Select position of each plane, (p,) mm: the mean of its seats, else the layout's."""
    seats = {s.gear: s.select_mm for s in gate.seats}
    centres = []
    for index, plane in enumerate(gate.layout.planes):
        seen = [seats[g] for g in (plane.forward, plane.rear) if g in seats]
        centres.append(float(np.mean(seen)) if seen else gate.layout.plane_mm(index))
    return np.array(centres)


def _grade(mm: np.ndarray, gate: GateMap) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Depth, index of the gear, and engage position of each gear's seat."""
    places = seat_positions(gate)
    names = gate.layout.gears
    seats = np.array([places[g][1] for g in names])
    plane = np.argmin(np.abs(mm[:, :1] - plane_centres(gate)), axis=1)
    forward = np.array([names.index(p.forward) if p.forward else -1 for p in gate.layout.planes])
    rear = np.array([names.index(p.rear) if p.rear else -1 for p in gate.layout.planes])
    gear = np.where(mm[:, 1] >= 0, forward[plane], rear[plane])
    half = gate.layout.engage_travel_mm / 2
    reach = np.where(gear >= 0, np.abs(seats[gear]), half)
    return np.abs(mm[:, 1]) / reach, gear, seats


def find_excursions(path: LeverPath, settings: Settings) -> tuple[Excursion, ...]:
    """Trips off the neutral line that went deeper than the attempt level, in order of time."""
    signed = np.sign(path.engage_mm) * (path.depth > settings.depth_low) * path.valid
    found = []
    for side in (1, -1):
        for start, stop in find_runs(signed == side):
            peak = int(start + np.argmax(path.depth[start:stop]))
            if path.depth[peak] < settings.neutral_depth:
                continue
            found.append(_excursion(path, int(start), int(stop), peak, settings))
    return tuple(sorted(found, key=lambda e: e.start))


def _excursion(path: LeverPath, start: int, stop: int, peak: int, settings: Settings) -> Excursion:
    deep = start + np.flatnonzero(path.depth[start:stop] > 0.8 * path.depth[peak])
    gears = path.gear[deep]
    gear = int(np.bincount(gears[gears >= 0]).argmax()) if (gears >= 0).any() else -1
    seat = abs(float(path.seat_mm[gear])) if gear >= 0 else float(np.median(np.abs(path.seat_mm)))
    depth = np.abs(path.engage_mm[start:stop]) / seat
    stays = _stays(depth, path.rate_hz, settings) if gear >= 0 else []
    return Excursion(
        start=start, stop=stop, gear=path.gears[gear] if gear >= 0 else None, seat_mm=seat,
        peak=float(depth.max()), stays=tuple((start + a, start + b) for a, b in stays),
    )  # fmt: skip


def _stays(depth: np.ndarray, rate_hz: float, settings: Settings) -> list[tuple[int, int]]:
    """Index ranges in gear: entered above the high level for long enough, left below the low one."""
    stays: list[tuple[int, int]] = []
    for a, b in find_runs(depth >= FIRST_ENTER):
        if (b - a) < settings.in_gear_hold_s * rate_hz:
            continue
        below = np.flatnonzero(depth[b:] < FIRST_LEAVE)
        end = b + int(below[0]) if below.size else depth.size
        if stays and a < stays[-1][1]:
            continue
        stays.append((int(a), int(end)))
    return stays
