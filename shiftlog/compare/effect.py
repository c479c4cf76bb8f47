"""How large an effect is beside its spread, and a permutation of whole drives where it can answer."""

from itertools import combinations
from math import comb

import numpy as np

# Two-sided, an exact permutation over whole drives can reach 0.05 only from this many arrangements on.
LEAST_ARRANGEMENTS = 40
# Eight drives a side have 12,870; beyond that counting them all takes longer than its answer is worth.
MOST_ARRANGEMENTS = 13_000


def find_cliffs_delta(before: np.ndarray, after: np.ndarray) -> float:
    """P(after > before) − P(after < before) = 2U/mn − 1 (Cliff, Psychol. Bull. 114, 1993)."""
    ordered = np.sort(before)
    below, upto = np.searchsorted(ordered, after, "left"), np.searchsorted(ordered, after, "right")
    return float((below.sum() - (ordered.size - upto).sum()) / (before.size * after.size))


def permute_drives(before: np.ndarray, after: np.ndarray) -> float | None:
    """Two-sided exact permutation p of the difference of means over whole drives; None where it cannot answer.

    Fisher's permutation test (The Design of Experiments, 1935). Three drives a side have 20 arrangements, of which the
    two outermost already make 0.1. Two-sided is twice the smaller tail.
    """
    n, arrangements = before.size + after.size, comb(before.size + after.size, before.size)
    if not LEAST_ARRANGEMENTS <= arrangements <= MOST_ARRANGEMENTS:
        return None
    values = np.r_[before, after]
    chosen = np.array(list(combinations(range(n), before.size)))
    drawn = values[chosen].sum(axis=1)
    # The sum of all is the same in every arrangement, so that the sum of one side orders them as the difference does.
    seen, room = before.sum(), 1e-9 * np.abs(values).max()
    tails = np.mean(drawn >= seen - room), np.mean(drawn <= seen + room)
    return min(1.0, 2 * float(min(tails)))
