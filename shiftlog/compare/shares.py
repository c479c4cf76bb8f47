"""Counts of yes and no: exact within one standstill test, by drives where days lie between."""

from dataclasses import dataclass
from math import sqrt

import numpy as np
from scipy.special import ndtri
from scipy.stats import fisher_exact

from shiftlog.compare.estimate import Estimate
from shiftlog.measure.share import share_of
from shiftlog.model.share import Share

Interval = tuple[float, float]


@dataclass(frozen=True, eq=False, kw_only=True)
class Counted:
    """Two counts compared: shares k of n on each side; p by Fisher; Newcombe's intervals of the difference."""

    before: Share
    after: Share
    p: float
    ci95: Interval
    ci90: Interval

    @property
    def difference(self) -> float:
        """Share after − share before."""
        return self.after.k / self.after.n - self.before.k / self.before.n

    @property
    def least(self) -> int:
        """Tries of the side that has fewer."""
        return min(self.before.n, self.after.n)


def compare_counts(before: tuple[int, int], after: tuple[int, int]) -> Counted:
    """Two counts (k, n), n ≥ 1 each. Fisher's exact test (1935), two-sided."""
    table = [[before[0], before[1] - before[0]], [after[0], after[1] - after[0]]]
    return Counted(
        before=share_of(*before), after=share_of(*after), p=float(fisher_exact(table).pvalue),
        ci95=find_newcombe(before, after, confidence=0.95), ci90=find_newcombe(before, after, confidence=0.90),
    )  # fmt: skip


def find_newcombe(before: tuple[int, int], after: tuple[int, int], *, confidence: float) -> Interval:
    """Interval of share after − share before, from Wilson's limits of each.

    Newcombe, Stat. Med. 17 (1998) 873, method 10.
    """
    low_b, share_b, high_b = _wilson(*before, confidence)
    low_a, share_a, high_a = _wilson(*after, confidence)
    difference = share_a - share_b
    down, up = np.hypot(share_a - low_a, high_b - share_b), np.hypot(high_a - share_a, share_b - low_b)
    return float(difference - down), float(difference + up)


def _wilson(k: int, n: int, confidence: float) -> tuple[float, float, float]:
    """Wilson's limits of a share, J. Am. Stat. Assoc. 22 (1927) 209, the share between them."""
    z, share = float(ndtri(0.5 + confidence / 2)), k / n
    centre = (share + z**2 / (2 * n)) / (1 + z**2 / n)
    reach = z / (1 + z**2 / n) * sqrt(share * (1 - share) / n + z**2 / (4 * n**2))
    return max(centre - reach, 0.0) if k else 0.0, share, min(centre + reach, 1.0) if k < n else 1.0


def widen_share(estimate: Estimate, counted: Counted, *, confidence: float) -> Interval:
    """Interval of a difference of drive shares: Student's t over drives, never narrower than counting allows.

    Equal shares leave t nothing to work with, and pooled counts alone would take the day for the repair.
    """
    low, high = counted.ci95 if confidence == 0.95 else counted.ci90
    down, up = counted.difference - low, high - counted.difference
    reach = estimate.reach(confidence)
    return max(estimate.difference - max(down, reach), -1.0), min(estimate.difference + max(up, reach), 1.0)


def judge_share(estimate: Estimate, counted: Counted) -> float:
    """p of a difference of drive shares: both the t over drives and the exact test of the counts must allow it."""
    return counted.p if estimate.p is None else max(estimate.p, counted.p)
