"""One ratio for each gear and one bias of vehicle speed for all, fitted to settled samples."""

from dataclasses import dataclass

import numpy as np

from shiftlog.detect.settled import LEAST_APART, Settled, find_ratio_peaks
from shiftlog.signal.robust import robust_sigma, shortest_share

BIAS_STEP_MPS = 0.1
"""A speed rounded to this or more (a whole km/h is 0.28) may be cut off or rounded up: then a bias is fitted."""

BIAS_LOW, BIAS_HIGH = -0.5, 1.0
"""Bias in rounding steps: rounded up … cut off, with half a step for a signal that is sent late."""

LIKELY_BIAS, BIAS_SPREAD = 0.4, 0.3
"""What is known of the bias before any data, in rounding steps: rounded (0) or, more often, cut off (0.5)."""

MODE_SHARE = 0.4
"""Drive slip and bends only ever raise the ratio, so its mode, not its median, is the gear's own."""

LEAST_QUIET_S = 3.0
"""With this much quiet driving in a gear, its ratio is taken from there alone."""

ROUNDS = 6

REACH_STEP_SHARE = 0.45
"""A sample belongs to the nearest gear if it lies within this share of the least distance of two gears."""

SLIP = 0.01
"""Spread of one gear's ratio from tyre slip and bends, as a share (common practice, no source)."""


@dataclass(frozen=True, eq=False, kw_only=True)
class RatioFit:
    """Gears as the data have them, highest ratio first.

    rpm_per_mps, spread, seen_s : (k,); spread : standard deviation of the ratio as a share of it, rounding of
    speed left out; seen_s : settled time [s]; bias_mps : to be added to the logged speed
    """

    rpm_per_mps: np.ndarray
    spread: np.ndarray
    seen_s: np.ndarray
    bias_mps: float


def fit_ratios(settled: Settled, *, step_mps: float) -> RatioFit:
    """Gears found in settled samples, with rpm = k · (v + b) for each gear k and one b for all."""
    bias = 0.0
    peaks = find_ratio_peaks(settled, bias_mps=bias)
    if step_mps >= BIAS_STEP_MPS and peaks.size:
        for _ in range(ROUNDS):
            fitted = _fit_bias(settled, peaks, bias, step_mps)
            bias = float(np.clip(fitted, BIAS_LOW * step_mps, BIAS_HIGH * step_mps))
            peaks = find_ratio_peaks(settled, bias_mps=bias)
    return _describe(settled, peaks, bias, step_mps)


def _nearest(log_ratio: np.ndarray, peaks: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Index of the nearest peak of each sample and whether it belongs to it."""
    gear = np.argmin(np.abs(log_ratio[:, None] - peaks), axis=1)
    return gear, np.abs(log_ratio - peaks[gear]) < REACH_STEP_SHARE * LEAST_APART


def _fit_bias(settled: Settled, peaks: np.ndarray, bias: float, step_mps: float) -> float:
    """Bias b of v = rpm / k − b by weighted least squares with 1/k of each gear, outliers weighted down; what is
    known of it beforehand is one more equation."""
    gear, belongs = _nearest(np.log(settled.rpm / (settled.mps + bias)), peaks)
    gear, rpm, mps = gear[belongs], settled.rpm[belongs], settled.mps[belongs]
    design = np.zeros((rpm.size + 1, peaks.size + 1))
    design[np.arange(rpm.size), gear] = rpm
    design[:, -1] = -1.0
    mps = np.append(mps, -LIKELY_BIAS * step_mps)
    scale = np.append(np.hypot(step_mps / np.sqrt(12), SLIP * mps[:-1]), BIAS_SPREAD * step_mps)
    weight = 1 / scale
    for _ in range(ROUNDS):
        solved = np.linalg.lstsq(design * weight[:, None], mps * weight, rcond=None)[0]
        off = np.abs(mps - design @ solved) / scale
        weight = np.sqrt(1 / np.maximum(1.0, off / 1.5)) / scale
    return float(solved[-1])


def _describe(settled: Settled, peaks: np.ndarray, bias: float, step_mps: float) -> RatioFit:
    ratios, spreads, seen = [], [], []
    log_ratio = np.log(settled.rpm / (settled.mps + bias))
    gear, belongs = _nearest(log_ratio, peaks) if peaks.size else (log_ratio, log_ratio)
    for index in range(peaks.size):
        mine = belongs & (gear == index)
        centre = _centre(settled, mine, log_ratio, bias, step_mps)
        rounding = step_mps / np.sqrt(12) / np.median(settled.mps[mine])
        ratios.append(np.exp(centre))
        spreads.append(np.sqrt(max(float(robust_sigma(log_ratio[mine])) ** 2 - rounding**2, 0.003**2)))
        seen.append(settled.weight_s[mine].sum())
    return RatioFit(rpm_per_mps=np.array(ratios), spread=np.array(spreads), seen_s=np.array(seen), bias_mps=bias)


def _centre(settled: Settled, mine: np.ndarray, log_ratio: np.ndarray, bias: float, step_mps: float) -> float:
    """A gear's log ratio: the mode where speed is fine; where it is coarse, the ratio of the sums of speed."""
    if step_mps < BIAS_STEP_MPS:
        quiet = mine & settled.quiet
        enough = settled.weight_s[quiet].sum() >= LEAST_QUIET_S
        return shortest_share(log_ratio[quiet if enough else mine], MODE_SHARE)[0]
    near = mine & (np.abs(log_ratio - np.median(log_ratio[mine])) < 3 * robust_sigma(log_ratio[mine]) + 1e-6)
    rpm, mps = settled.rpm[near], settled.mps[near] + bias
    return float(np.log(np.sum(rpm * rpm) / np.sum(rpm * mps)))
