"""How far vehicle speed lags behind engine speed, from the ratio of the two."""

from dataclasses import dataclass

import numpy as np

from shiftlog.detect.speeds import Samples, value_at
from shiftlog.signal.density import smooth

LAGS_S = np.round(np.arange(-0.5, 1.601, 0.05), 3)
"""A speed signal may be filtered, sent late or stamped late by more than a second; a small lead is possible
where two channels are asked one after the other."""

LOG_LOW, LOG_HIGH, LOG_BIN = np.log(30.0), np.log(1500.0), 0.005
"""Engine speed over vehicle speed [rpm/(m/s)] of any road car lies between these."""

LEAST_MPS = 2.5
"""Below this the clutch slips and few speed signals are true."""

LEAST_STEPS = 12
"""Speed is used from this many of its own rounding steps: the ratio is then good to 2.5 %."""

BLOCKS = 24
DRAWS = 100
SEED = 20261

GREATEST_UNCERTAINTY_S = 0.15
"""A lag known worse than this is not applied: it moves the ratio by more than tyres do at 3 m/s² and 20 m/s."""


@dataclass(frozen=True, eq=False, kw_only=True)
class LagFit:
    """Vehicle speed as logged at t is that of t − lag_s.

    lag_s [s] is 0 where it cannot be told; uncertainty_s : standard uncertainty [s], None where it cannot be told
    why : the reason where it cannot be told
    """

    lag_s: float
    uncertainty_s: float | None
    why: str | None = None


def find_lag(engine: Samples, vehicle: Samples) -> LagFit:
    """The lag at which engine speed over vehicle speed keeps to the fewest values.

    While the clutch is closed the ratio is one of a few; a lag smears it wherever the car gains or loses
    speed. Sharpness is the overlap of the ratio's density with itself. Its uncertainty is the spread of the
    best lag over bootstrap draws of blocks of the drive.
    """
    counts = _block_counts(engine, vehicle)
    total = counts.sum(axis=(0, 2))
    if counts.shape[1] < 4 or np.min(total, initial=np.inf) < 10:
        return LagFit(lag_s=0.0, uncertainty_s=None, why="too little driving above walking pace to find the lag")
    overlaps = _overlaps(counts)
    best = _best_lag(overlaps.sum(axis=(1, 2)))
    rng = np.random.default_rng(SEED)
    spread = _bootstrap(overlaps, rng)
    if spread > GREATEST_UNCERTAINTY_S:
        why = "the car hardly gained or lost speed with the clutch closed, so the lag of vehicle speed cannot be told"
        return LagFit(lag_s=0.0, uncertainty_s=None, why=why)
    return LagFit(lag_s=best, uncertainty_s=max(spread, 0.01))


def _block_counts(engine: Samples, vehicle: Samples) -> np.ndarray:
    """Histogram of the log ratio for each lag and block of the drive: (lags, blocks, bins)."""
    fast = vehicle.values > max(LEAST_MPS, LEAST_STEPS * vehicle.step)
    times, speeds = vehicle.time_s[fast], vehicle.values[fast]
    thin = max(1, int(0.05 / vehicle.period_s))
    times, speeds = times[::thin], speeds[::thin]
    edges = np.arange(LOG_LOW, LOG_HIGH + LOG_BIN, LOG_BIN)
    blocks = np.array_split(np.arange(times.size), min(BLOCKS, max(times.size // 8, 1)))
    counts = np.zeros((LAGS_S.size, len(blocks), edges.size - 1))
    for row, lag in enumerate(LAGS_S):
        rpm = value_at(engine, times - lag)
        ratio = np.log(np.maximum(rpm, 1.0) / speeds)
        for column, block in enumerate(blocks):
            counts[row, column] = np.histogram(ratio[block][np.isfinite(ratio[block])], bins=edges)[0]
    return counts


def _overlaps(counts: np.ndarray) -> np.ndarray:
    """Overlap of each block's density with each other's, (lags, blocks, blocks), by share of the samples."""
    shares = counts / counts.sum(axis=(1, 2), keepdims=True)
    spread = smooth(shares, 0.01 / LOG_BIN)
    return np.einsum("lik,ljk->lij", shares, spread)


def _best_lag(sharpness: np.ndarray) -> float:
    """The lag at the top of the sharpness, through a parabola over its three highest neighbours."""
    top = int(np.argmax(sharpness))
    if top in (0, sharpness.size - 1):
        return float(LAGS_S[top])
    left, middle, right = sharpness[top - 1 : top + 2]
    bend = left - 2 * middle + right
    shift = 0.5 * (left - right) / bend if bend < 0 else 0.0
    return float(LAGS_S[top] + shift * (LAGS_S[1] - LAGS_S[0]))


def _bootstrap(overlaps: np.ndarray, rng: np.random.Generator) -> float:
    blocks = overlaps.shape[1]
    found = []
    for _ in range(DRAWS):
        weight = np.bincount(rng.integers(0, blocks, blocks), minlength=blocks)
        found.append(_best_lag(np.einsum("lij,i,j->l", overlaps, weight, weight)))
    return float(np.std(found))
