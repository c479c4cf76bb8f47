"""Where two signals on clocks that know nothing of each other could lie: every lag, every drift."""

from dataclasses import dataclass

import numpy as np
from scipy import fft
from scipy.signal import argrelmax

from shiftlog.signal.even_band import EvenBand


@dataclass(frozen=True, eq=False, kw_only=True)
class LagCandidate:
    """v = u · (1 + drift) + lag_s, u and v counted from the first sample of either signal.

    drift : dimensionless; score : how high the peak stands; cross : (ka, kb) correlations there
    """

    lag_s: float
    drift: float
    score: float
    cross: np.ndarray


def search_lags(
    first: EvenBand, second: EvenBand, *, most_drift: float, least_s: float, count: int, matched: bool = False
) -> list[LagCandidate]:
    """The ``count`` best places of two signals on one rate, best first.

    Sum of squares of the correlations between all channels of the one and all of the other, which no rotation
    changes, over the common samples; ``matched`` adds channel to channel instead. Every lag is tried that leaves
    ``least_s`` in common, at as many drifts up to ``most_drift`` as the band asks for.
    """
    found: list[LagCandidate] = []
    shorter_s = min(first.duration_s, second.duration_s)
    # At the ends of the shorter signal neighbouring drifts lie one sample apart.
    steps = int(np.ceil(most_drift * shorter_s / 2 * first.rate_hz - 0.5))
    drifts = np.linspace(-most_drift, most_drift, 2 * steps + 1) if steps > 0 else np.zeros(1)
    for drift in drifts:
        found += _at_drift(first, second, float(drift), least_s=least_s, count=count, matched=matched)
    return _distinct(found, first.duration_s, count)


def _at_drift(
    first: EvenBand, second: EvenBand, drift: float, *, least_s: float, count: int, matched: bool
) -> list[LagCandidate]:
    a, b = first.values, _stretched(second.values, drift)
    size = fft.next_fast_len(a.shape[0] + b.shape[0], real=True)
    spectra_a, spectra_b = fft.rfft(a, size, axis=0).conj(), fft.rfft(b, size, axis=0)
    ones_a = fft.rfft(first.valid.astype(float), size).conj()
    common = fft.irfft(ones_a * fft.rfft(_stretched(second.valid[:, None], drift)[:, 0] > 0.5, size), size)
    if matched:
        cross = fft.irfft(np.sum(spectra_a * spectra_b, axis=1), size)[:, None, None]
        power = np.maximum(cross[:, 0, 0], 0) ** 2
    else:
        pairs = [[fft.irfft(x * y, size) for y in spectra_b.T] for x in spectra_a.T]
        cross = np.moveaxis(np.array(pairs), 2, 0)
        power = np.sum(cross**2, axis=(1, 2))
    enough = common >= least_s * first.rate_hz
    # A few strong moments may agree by chance where little is in common.
    score = np.where(enough, power / (np.maximum(common, 0) + 3 * least_s * first.rate_hz), 0.0)
    peaks = argrelmax(score, mode="wrap")[0]
    best = peaks[np.argsort(score[peaks])[::-1][: 4 * count]]
    lags = np.where(best >= b.shape[0], best - size, best)
    return [
        LagCandidate(lag_s=float(lag / first.rate_hz * (1 + drift)), drift=drift, score=float(score[i]), cross=cross[i])
        for i, lag in zip(best, lags, strict=True)
    ]


def _stretched(values: np.ndarray, drift: float) -> np.ndarray:
    at = np.arange(int(values.shape[0] / (1 + drift))) * (1 + drift)
    index = np.arange(values.shape[0])
    return np.stack([np.interp(at, index, column) for column in values.T], axis=1)


def _distinct(found: list[LagCandidate], length_s: float, count: int) -> list[LagCandidate]:
    """The best ones that do not say nearly the same."""
    chosen: list[LagCandidate] = []
    for one in sorted(found, key=lambda c: -c.score):
        middle = one.lag_s + one.drift * length_s / 2
        if all(abs(middle - c.lag_s - c.drift * length_s / 2) > 1.0 for c in chosen):
            chosen.append(one)
        if len(chosen) == count:
            break
    return chosen


def peak_evidence(candidates: list[LagCandidate], chosen: LagCandidate) -> float:
    """How much likelier (natural logarithm) the chosen peak is a place than one more peak of chance.

    The heights of chance peaks fall off exponentially at the top, so that j times the gap between the j-th and the
    next has one mean (Rényi, Acta Math. Acad. Sci. Hung. 4, 1953; from memory); look-alikes widen it. The mean is
    known from a few gaps only, which the logarithm allows for. Negative where others stand higher.
    """
    others = np.array([c.score for c in candidates if c is not chosen])
    if others.size < 3:
        return 0.0
    gaps = np.arange(1, others.size) * -np.diff(others)
    mean = max(float(gaps.mean()), 0.02 * float(others[0]), np.finfo(float).tiny)
    above = (chosen.score - others[0]) / mean
    return float(np.copysign(gaps.size * np.log1p(abs(above) / gaps.size), above))
