"""Fewer points for a picture, with every extreme kept."""

import numpy as np


def thin_extremes(
    time_s: np.ndarray, values: np.ndarray, *, start_s: float, end_s: float, points: int
) -> tuple[np.ndarray, np.ndarray]:
    """What a picture of ``points`` points needs of a signal between two instants.

    time_s : (n,) increasing; values : (n,); returns (m,) times and (m,) values with m ≤ points + 4. The window
    is widened by one sample on either side, so that a line runs to the picture's edges. A window with few
    samples comes back as it is; a long one as the smallest and the largest value of each of points / 2 stretches
    of equally many samples, drawn at the stretch's first and middle instant.
    """
    first, stop = _window(time_s, start_s, end_s)
    inside = slice(first, stop)
    if stop - first <= max(points, 2):
        return time_s[inside], values[inside]
    edges = np.linspace(first, stop, max(points // 2, 1) + 1).astype(np.int64)
    return _extremes(time_s, values, edges)


def thin_spans(
    time_s: np.ndarray,
    values: np.ndarray,
    *,
    spans: tuple[tuple[float, float], ...],
    start_s: float,
    end_s: float,
    points: int,
) -> tuple[np.ndarray, np.ndarray]:
    """As ``thin_extremes``, for each stretch in which data exist, with one NaN between stretches.

    The NaN makes a line break there: nothing is drawn across a gap. Points are shared by length.
    """
    seen = [(a, b) for a, b in spans if b > start_s and a < end_s]
    shown_s = [min(b, end_s) - max(a, start_s) for a, b in seen]
    pieces = []
    for (a, b), length_s in zip(seen, shown_s, strict=True):
        mine = slice(np.searchsorted(time_s, a, side="left"), np.searchsorted(time_s, b, side="right"))
        share = int(points * length_s / sum(shown_s)) if length_s > 0 else 2
        pieces.append(thin_extremes(time_s[mine], values[mine], start_s=start_s, end_s=end_s, points=max(share, 2)))
    return _join(pieces)


def _window(time_s: np.ndarray, start_s: float, end_s: float) -> tuple[int, int]:
    first = int(np.searchsorted(time_s, start_s, side="left")) - 1
    stop = int(np.searchsorted(time_s, end_s, side="right")) + 1
    return max(first, 0), min(stop, time_s.size)


def _extremes(time_s: np.ndarray, values: np.ndarray, edges: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    starts, stops = edges[:-1], edges[1:]
    cut = values[: stops[-1]]
    low, high = np.minimum.reduceat(cut, starts), np.maximum.reduceat(cut, starts)
    # The order in which a stretch rises or falls, so that a slow ramp does not come out as a saw.
    falls = values[starts] > values[stops - 1]
    thin_values = np.stack([np.where(falls, high, low), np.where(falls, low, high)], axis=1).ravel()
    thin_times = np.stack([time_s[starts], time_s[(starts + stops) // 2]], axis=1).ravel()
    return thin_times, thin_values


def _join(pieces: list[tuple[np.ndarray, np.ndarray]]) -> tuple[np.ndarray, np.ndarray]:
    if not pieces:
        return np.empty(0), np.empty(0)
    times, values = [pieces[0][0]], [pieces[0][1]]
    for piece_times, piece_values in pieces[1:]:
        times += [times[-1][-1:], piece_times]
        values += [np.full(min(values[-1].size, 1), np.nan), piece_values]
    return np.concatenate(times), np.concatenate(values)


def thin_path(points: np.ndarray, *, cell: float) -> np.ndarray:
    """A path in the plane with every stroke drawn once.

    points : (n, 2) float; cell : side of the cells it is drawn by [unit of points]; returns (m, 2) float with a
    row of NaN between strokes that do not follow each other. A step from one cell to another that was made before
    adds nothing to a picture of thin lines and is left out.
    """
    if points.shape[0] < 2:
        return points
    cells = np.round(points / cell).astype(np.int64)
    moved = np.any(np.diff(cells, axis=0) != 0, axis=1)
    entered = np.concatenate([[0], np.flatnonzero(moved) + 1])
    steps = np.concatenate([cells[entered[:-1]], cells[entered[1:]]], axis=1)
    if steps.shape[0] == 0:
        return points[:1]
    _, first = np.unique(steps, axis=0, return_index=True)
    return _strokes(points[entered], np.sort(first))


def _strokes(points: np.ndarray, starts: np.ndarray) -> np.ndarray:
    """Strokes points[i] to points[i + 1] for each start i; those that follow each other are one line."""
    fresh = np.concatenate([[True], np.diff(starts) > 1])
    rows = np.full((starts.size, 3, 2), np.nan)
    rows[:, 1], rows[:, 2] = points[starts], points[starts + 1]
    keep = np.ones((starts.size, 3), dtype=bool)
    keep[:, 0] = fresh
    keep[~fresh, 1] = False
    return rows[keep][1:]
