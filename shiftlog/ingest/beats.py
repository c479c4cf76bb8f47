"""Which rows of a log tell its rate, where signals come one by one."""

import numpy as np

from shiftlog.signal.clock_ticks import measure_ticks


def find_beats(values: np.ndarray) -> np.ndarray:
    """The rows, (m,) int, by which a log's rate is told: those of its fastest channel.

    values : (n, c), NaN where a row has no value. A bus or a poll brings each signal in rows of its own, so that the
    rows of all together have no rate that anybody set.
    """
    held = np.isfinite(values)
    counts = np.count_nonzero(held, axis=0)
    fastest = int(np.argmax(counts)) if counts.size else 0
    if not counts.size or counts[fastest] < 2:
        return np.arange(len(values))
    return np.flatnonzero(held[:, fastest])


def whole_rows(time_s: np.ndarray, axes: np.ndarray) -> tuple[np.ndarray, float]:
    """The rows of (n, k) values in which all axes hold one, (m, k), and their rate [Hz], 0 under two rows."""
    rows = np.flatnonzero(np.all(np.isfinite(axes), axis=1) & (axes.shape[1] > 0))
    return (axes[rows], measure_ticks(time_s[rows]).rate_hz) if rows.size > 1 else (axes[:0], 0.0)
