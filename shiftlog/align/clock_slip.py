"""A recorder that restarted on the way: from some instant on its clock lies elsewhere."""

from dataclasses import replace

import numpy as np

from shiftlog.align.clock_kinds import EvidenceKind
from shiftlog.align.clock_place import window_agreement
from shiftlog.signal.even_band import EvenBand
from shiftlog.signal.lag_search import LagCandidate, peak_evidence, search_lags

_LEAST_WINDOWS = 4
"""Windows on either side of the jump."""

_SIDE_SHARE = 0.7
"""Windows that agree on the one side, and that do not on the other; the rest are chance."""

_JUMP_S = 0.05
_SURE = 10.0


def find_clock_jump(
    coarse: tuple[EvenBand, EvenBand], fine: tuple[EvenBand, EvenBand], place: LagCandidate, kind: EvidenceKind
) -> float | None:
    """When the second clock leaves the line of ``place``, or comes onto it [s from the first signal's first sample];
    None where it keeps to it.

    The windows beyond must agree on a place of their own: standing still is no jump.
    """
    at_s, agree = window_agreement(*fine, place, kind)
    split = _split(agree)
    if split is None:
        return None
    border_s = float(at_s[split - 1] + at_s[split]) / 2
    first = coarse[0]
    after = np.arange(first.valid.size) / first.rate_hz >= border_s
    strays = after if agree[split:].mean() < agree[:split].mean() else ~after
    rest = replace(first, values=first.values * strays[:, None], valid=first.valid & strays)
    others = search_lags(rest, coarse[1], most_drift=0.0, least_s=kind.least_s, count=8)
    if len(others) < 4 or peak_evidence(others, others[0]) < _SURE:
        return None
    middle_s = float(at_s[split:].mean() if strays is after else at_s[:split].mean())
    jump_s = others[0].lag_s + (others[0].drift - place.drift) * middle_s - place.lag_s
    return border_s if abs(jump_s) > _JUMP_S else None


def _split(agree: np.ndarray) -> int | None:
    """Index of the window from which on windows agree that did not before, or the other way round."""
    found = []
    for split in range(_LEAST_WINDOWS, agree.size - _LEAST_WINDOWS + 1):
        before, after = float(agree[:split].mean()), float(agree[split:].mean())
        if max(before, after) >= _SIDE_SHARE and min(before, after) <= 1 - _SIDE_SHARE:
            rises = after > before
            odd = np.sum(np.abs(agree[:split] - (not rises))) + np.sum(np.abs(agree[split:] - rises))
            found.append((float(odd), split))
    return min(found)[1] if found else None
