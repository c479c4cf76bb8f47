"""One place of two tracks beside each other: whether their windows bear it out, and where exactly it lies."""

from dataclasses import dataclass

import numpy as np

from shiftlog.align.clock_kinds import EvidenceKind
from shiftlog.signal.even_band import EvenBand
from shiftlog.signal.lag_line import Agreement, LagLine, judge_line, lobe_evidence, peak_lags, refine_line, stack_line
from shiftlog.signal.lag_search import LagCandidate
from shiftlog.signal.lag_windows import (
    WindowSpectra,
    choose_windows,
    cut_windows,
    likelihood_weights,
    pair_axes,
    pair_spectra,
    turn_back,
    window_correlations,
)

MOST_DRIFT = 250e-6
"""Cheap crystals keep to 100 ppm; two that err in opposite directions make 200, and warmth adds to it."""

_DRIFT_SPREAD = 100e-6
_LEAST_WINDOWS = 4
_MANY_WINDOWS = 40

_LEARNT_COST = 3.0
"""Scatter and share of strays are fitted to the very lags they judge."""


@dataclass(frozen=True, eq=False, kw_only=True)
class _Learnt:
    """What windows say together: axes that belong together, weights by frequency, and the line (at ``middle_s``)."""

    axes: tuple[np.ndarray | None, np.ndarray | None]
    weights: np.ndarray
    middle_s: float
    lag_s: float
    drift: float


@dataclass(frozen=True, eq=False, kw_only=True)
class PlaceWeight:
    """How much likelier (natural logarithms) the windows are with this place than without any, 0 where they do not
    say so, and than with the best place beside it."""

    windows: float
    lobe: float


def weigh_place(first: EvenBand, second: EvenBand, place: LagCandidate, kind: EvidenceKind) -> PlaceWeight | None:
    """What the windows say of a place; None where there are too few.

    Axes, weights and line are learnt from every other window and tried on the rest, and the other way round: what
    was fitted to a window is no evidence in it.
    """
    windows = _cut(first, second, place, kind)
    if windows.at_s.size < _LEAST_WINDOWS:
        return None
    gain = _tried(windows, place, kind).gain
    learnt = _learn(windows, place, kind)
    lobe = lobe_evidence(
        windows.at_s, *_correlations(windows, learnt, kind), lag_s=learnt.lag_s, drift=learnt.drift,
        within_s=kind.reach_s / 2,
    )  # fmt: skip
    return PlaceWeight(windows=max(gain - _LEARNT_COST, 0.0), lobe=lobe)


def window_agreement(
    first: EvenBand, second: EvenBand, place: LagCandidate, kind: EvidenceKind
) -> tuple[np.ndarray, np.ndarray]:
    """(w,) middles of windows in the first signal's time [s], and the probability that each agrees with the rest."""
    windows = _cut(first, second, place, kind)
    return windows.at_s, _tried(windows, place, kind).agree


def _tried(windows: WindowSpectra, place: LagCandidate, kind: EvidenceKind) -> Agreement:
    """How each window agrees with what was learnt from others: the odd ones from the even ones, and back."""
    odd = np.arange(windows.at_s.size) % 2 == 1
    off = np.empty(windows.at_s.size)
    for tried in (odd, ~odd):
        learnt = _learn(choose_windows(windows, ~tried), place, kind)
        off[tried] = _lags_off(choose_windows(windows, tried), learnt, kind)
    return judge_line(off, within_s=kind.reach_s / 2, scatter_s=kind.scatter_s)


def measure_place(first: EvenBand, second: EvenBand, place: LagCandidate, kind: EvidenceKind) -> tuple[LagLine, float]:
    """The line through all windows against the candidate's own, and how many seconds are in common."""
    windows = _cut(first, second, place, kind)
    learnt = _learn(windows, place, kind)
    lags, correlations = _correlations(windows, learnt, kind)
    line = refine_line(
        windows.at_s,
        lags,
        correlations,
        lag_s=learnt.lag_s,
        drift=learnt.drift,
        usual_drift=-place.drift,
        drift_spread=_DRIFT_SPREAD,
    )
    return line, windows.at_s.size * _window_s(first, second, kind)


def _cut(first: EvenBand, second: EvenBand, place: LagCandidate, kind: EvidenceKind) -> WindowSpectra:
    length = _window_s(first, second, kind)
    return cut_windows(first, second, lag_s=place.lag_s, drift=place.drift, length_s=length, reach_s=kind.reach_s)


def _window_s(first: EvenBand, second: EvenBand, kind: EvidenceKind) -> float:
    shortest, longest = kind.window_s
    return float(np.clip(min(first.duration_s, second.duration_s) / _MANY_WINDOWS, shortest, longest))


def _learn(windows: WindowSpectra, place: LagCandidate, kind: EvidenceKind) -> _Learnt:
    since = windows.at_s - windows.at_s.mean()
    axes = (None, None) if kind.matched else pair_axes(place.cross)
    weights, lag, drift = None, 0.0, 0.0
    for _ in range(3):
        cross, power_a, power_b = pair_spectra(windows, *axes, together=kind.matched)
        if weights is None:
            weights = np.ones(cross.shape[1:])
        else:
            aligned = turn_back(cross, windows, lag + drift * since)
            weights = likelihood_weights(aligned, power_a, power_b)
        lags, correlations = window_correlations(windows, cross, weights, reach_s=kind.reach_s)
        lag, drift = stack_line(windows.at_s, lags, correlations, most_drift=MOST_DRIFT, within_s=kind.reach_s / 2)
        last, axes = axes, (axes if kind.matched else pair_axes(_joint(windows, lag + drift * since)))
    return _Learnt(axes=last, weights=weights, middle_s=float(windows.at_s.mean()), lag_s=lag, drift=drift)


def _correlations(windows: WindowSpectra, learnt: _Learnt, kind: EvidenceKind) -> tuple[np.ndarray, np.ndarray]:
    cross = pair_spectra(windows, *learnt.axes, together=kind.matched)[0]
    return window_correlations(windows, cross, learnt.weights, reach_s=kind.reach_s)


def _lags_off(windows: WindowSpectra, learnt: _Learnt, kind: EvidenceKind) -> np.ndarray:
    lags, correlations = _correlations(windows, learnt, kind)
    line = learnt.lag_s + learnt.drift * (float(windows.at_s.mean()) - learnt.middle_s)
    return peak_lags(windows.at_s, lags, correlations, lag_s=line, drift=learnt.drift, within_s=kind.reach_s / 2)


def _joint(windows: WindowSpectra, off_s: np.ndarray) -> np.ndarray:
    """(ka, kb) correlations of all windows together once their lags are taken out."""
    turned = turn_back(windows.second, windows, off_s)
    return np.einsum("wfi,wfj->ij", windows.first.conj(), turned).real
