"""Two clocks against each other, by every kind of evidence their recordings share."""

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from shiftlog.align.clock_kinds import FINE_S, KINDS, EvidenceKind
from shiftlog.align.clock_line import ClockLine
from shiftlog.align.clock_pair import match_pair
from shiftlog.align.clock_tracks import ClockTrack, find_tracks
from shiftlog.model.recording import Recording

_SURE = 0.99

_MOST_PAIRS = 3
"""Pairs of tracks tried for one kind of evidence: the most telling ones first."""

_APART_S = 2.0
"""Matches further apart than any delay are of two places, of which one is wrong."""


class ClockTracks:
    """All tracks of one clock by kind, each made when it is first asked for."""

    def __init__(self, recordings: tuple[Recording, ...]) -> None:
        self._recordings = recordings
        self._made: dict[str, list[ClockTrack]] = {}

    def of(self, kind: str) -> list[ClockTrack]:
        """The tracks of a kind, the most telling first."""
        if kind not in self._made:
            self._made[kind] = find_tracks(self._recordings, kind)
        return self._made[kind]


def link_clocks(first: ClockTracks, second: ClockTracks) -> tuple[ClockLine | None, bool]:
    """The match of two clocks, and whether they share any kind of evidence.

    Motion sensors that are sure of each other settle it; else everything that is sure is weighed together.
    """
    matches, shared = [], False
    for kind in KINDS:
        for one, other, swap in _pairs(first, second, kind):
            shared = True
            match = match_pair(one, other, kind)
            if match is None:
                continue
            matches.append(match.swapped() if swap else match)
            if match.right >= _SURE:
                break
        if matches and matches[-1].right >= _SURE and matches[-1].tolerance_s <= FINE_S:
            return matches[-1], True
    return (_together(matches) if matches else None), shared


def _pairs(
    first: ClockTracks, second: ClockTracks, kind: EvidenceKind
) -> Iterator[tuple[ClockTrack, ClockTrack, bool]]:
    pairs = [(a, b, False) for a in first.of(kind.first) for b in second.of(kind.second)]
    if kind.first != kind.second:
        pairs += [(b, a, True) for b in second.of(kind.first) for a in first.of(kind.second)]
    yield from pairs[:_MOST_PAIRS]


def _together(matches: list[ClockLine]) -> ClockLine:
    """What the sure ones say together, by the inverse of their variances, with an uncertainty that covers how far they
    differ (Birge, Phys. Rev. 40, 1932); the surest where none is sure."""
    best = max(matches, key=lambda m: (round(m.right, 2), -m.u_lag_s))
    if best.right < _SURE:
        return best
    sure = [m for m in matches if m.right >= _SURE]
    lags = np.array([m.second_s(best.at_first_s) - best.at_second_s for m in sure])
    if np.any(np.abs(lags) > _APART_S):
        return replace(best, right=0.0)
    weights = np.array([m.uncertainty_s(best.at_first_s) ** -2 for m in sure])
    lag = float(np.average(lags, weights=weights))
    ratio = math.sqrt(float(np.sum(weights * (lags - lag) ** 2)) / max(len(sure) - 1, 1))
    steady = np.array([m.u_drift**-2 for m in sure])
    return replace(
        best,
        at_second_s=best.at_second_s + lag,
        drift=float(np.average([m.drift for m in sure], weights=steady)),
        u_lag_s=max(ratio, 1.0) / math.sqrt(float(weights.sum())),
        u_drift=min(m.u_drift for m in sure),
        words=("; ".join(words for m in sure for words in m.words),),
    )
