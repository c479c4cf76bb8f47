"""The drive's long signals as lines to draw, and what a window of them needs."""

from dataclasses import dataclass

import numpy as np

from shiftlog.model.drive import Drive
from shiftlog.model.gate import GateMap
from shiftlog.model.trace import Trace
from shiftlog.signal.thin import thin_path, thin_spans

BLOW_PLACES = ("gearbox", "lever", "tower", "engine", "body")
PATH_CELL_MM = 0.5
"""Side of the cells a lever path is drawn by: finer than a line's width on a picture of a whole gate."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Line:
    """One signal. key : what it is, for the order and the label; time_s, values : (n,)"""

    key: str
    label: str
    unit: str
    time_s: np.ndarray
    values: np.ndarray
    spans: tuple[tuple[float, float], ...]


@dataclass(frozen=True, eq=False, kw_only=True)
class Window:
    """Lines thinned for a stretch of the drive. whole_s : where the drive begins and ends."""

    lines: tuple[Line, ...]
    start_s: float
    end_s: float
    whole_s: tuple[float, float]


def drive_lines(drive: Drive, gate: GateMap | None) -> tuple[Line, ...]:
    """Every line there is of a drive, top to bottom of the picture."""
    signals = drive.signals
    lines = _lever_lines(signals.lever, gate)
    if signals.vehicle_speed is not None:
        lines.append(_line("speed", "Vehicle speed", "m/s", signals.vehicle_speed))
    if signals.engine_speed is not None:
        lines.append(_line("engine", "Engine speed", "rpm", signals.engine_speed))
    return tuple(lines + _accel_lines(drive))


def gate_points(lever: Trace, gate: GateMap) -> np.ndarray:
    """The lever's path in gate mm, (n, 2) select, engage."""
    return lever.values @ gate.matrix.T + gate.offset


def lever_path(lines: tuple[Line, ...], *, window_s: tuple[float, float] | None = None) -> np.ndarray:
    """The lever's path for a picture, (m, 2) gate mm with NaN where the line breaks; empty without a gate map."""
    axes = {line.key: line for line in lines if line.key in ("select", "engage") and line.unit == "mm"}
    if len(axes) < 2:
        return np.empty((0, 2))
    time_s = axes["select"].time_s
    start_s, end_s = window_s or (-np.inf, np.inf)
    inside = slice(np.searchsorted(time_s, start_s), np.searchsorted(time_s, end_s, side="right"))
    points = np.stack([axes[key].values[inside] for key in ("select", "engage")], axis=1).astype(float)
    return points if window_s else thin_path(points, cell=PATH_CELL_MM)


def whole_span(lines: tuple[Line, ...]) -> tuple[float, float]:
    """First and last instant of all lines; (0, 1) where there are none."""
    filled = [line for line in lines if line.time_s.size]
    if not filled:
        return 0.0, 1.0
    return min(float(x.time_s[0]) for x in filled), max(float(x.time_s[-1]) for x in filled)


def cut_window(lines: tuple[Line, ...], window_s: tuple[float, float] | None, *, points: int) -> Window:
    """The lines thinned to about ``points`` points each for a window, or for all of the drive."""
    whole_s = whole_span(lines)
    start_s, end_s = window_s or whole_s
    thin = []
    for line in lines:
        time_s, values = thin_spans(
            line.time_s, line.values, spans=line.spans, start_s=start_s, end_s=end_s, points=points
        )
        thin.append(_with(line, time_s, values))
    return Window(lines=tuple(thin), start_s=start_s, end_s=end_s, whole_s=whole_s)


def _lever_lines(lever: Trace | None, gate: GateMap | None) -> list[Line]:
    if lever is None:
        return []
    points = lever.values if gate is None else gate_points(lever, gate)
    name, unit = ("Lever, {} as logged", "") if gate is None else ("Lever, {}", "mm")
    return [
        Line(
            key=key, label=name.format(key), unit=unit, time_s=lever.time_s, values=points[:, k], spans=lever.spans
        )
        for k, key in enumerate(("select", "engage"))
    ]  # fmt: skip


def _accel_lines(drive: Drive) -> list[Line]:
    """The blow where it is felt first, and the body's longitudinal acceleration where the mounting is known.

    At the body with a known mounting, forward says more than the size.
    """
    signals, lines = drive.signals, []
    body = signals.accel_vehicle.get("body")
    place = next((p for p in BLOW_PLACES if p in signals.accel), None)
    if place is not None and not (place == "body" and body is not None):
        trace = signals.accel[place]
        size = np.sqrt(np.einsum("ij,ij->i", trace.values, trace.values))
        lines.append(
            Line(
                key="accel",
                label=f"Acceleration at the {place}, size",
                unit="m/s²",
                time_s=trace.time_s,
                values=size,
                spans=trace.spans,
            )
        )
    if body is not None:
        lines.append(_line("body", "Acceleration forward, body", "m/s²", body, column=0))
    return lines


def _line(key: str, label: str, unit: str, trace: Trace, *, column: int | None = None) -> Line:
    values = trace.values if column is None else trace.values[:, column]
    return Line(key=key, label=label, unit=unit, time_s=trace.time_s, values=values, spans=trace.spans)


def _with(line: Line, time_s: np.ndarray, values: np.ndarray) -> Line:
    return Line(key=line.key, label=line.label, unit=line.unit, time_s=time_s, values=values, spans=line.spans)
