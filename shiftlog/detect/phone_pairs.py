"""Candidates for a change of gear: two steps of longitudinal acceleration, and what lies before, between and after."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from shiftlog.detect.phone_evidence import GRID_HZ, Felt

LEAST_STEP_MPS2, LEAST_SIGMAS = 0.08, 1.0
"""A step below either cannot be told from the road."""

ALONE_S = 0.14
"""A step is the greatest within this long on both sides."""

SHORTEST_S, LONGEST_S = 0.16, 3.0
"""No hand and foot are quicker; beyond this the stay in neutral has ended the journey."""

MARGIN_S = 1.0
"""A candidate needs data this long on both sides."""

LEVEL_S, GUARD_S = 0.5, 0.12
"""Levels before and after are means over this long, this far from the step."""

LOST_SHARE, ROUNDING_MPS2 = 0.5, 1e-6
"""A step that is more blow than drive."""

KINDS = {(-1, 1): "gap", (1, -1): "bump", (1, 1): "rise", (-1, -1): "fall"}
"""By the signs of both steps: under drive; under engine braking; from drag or brakes to drive; from drive to drag."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Pair:
    """Two steps. first, second : indices into ``felt``'s grid; kind : a word of ``KINDS``

    before, middle, after : levels [m/s²], the drive's mean taken off
    """

    felt: Felt
    first: int
    second: int
    kind: str
    before: float
    middle: float
    after: float

    @property
    def start_s(self) -> float:
        return float(self.felt.time_s[self.first])

    @property
    def end_s(self) -> float:
        return float(self.felt.time_s[self.second])

    @cached_property
    def road(self) -> float:
        """Standard deviation the road gives longitudinal acceleration there [m/s²]."""
        return float(self.felt.road[self.first : self.second + 1].mean())

    @property
    def on_overrun(self) -> bool:
        """Whether it begins with a step forward: engine braking, or drag, that goes away."""
        return self.kind in ("bump", "rise")

    @property
    def steps(self) -> tuple[float, float]:
        """Sizes of both steps [m/s²]."""
        return abs(self.middle - self.before), abs(self.after - self.middle)

    @property
    def rests_on_a_blow(self) -> bool:
        """Whether a step loses more than ``LOST_SHARE`` of itself where what was felt of a blow is left out."""
        felt = np.diff((self.before, self.middle, self.after))
        left = np.diff(read_levels(self.felt.calm, self.first, self.second))
        return bool(np.any(np.abs(felt - left) > LOST_SHARE * np.abs(felt) + ROUNDING_MPS2))


def find_steps(felt: Felt) -> np.ndarray:
    """Indices of the steps that stand out, (k,)."""
    size = np.abs(felt.step)
    window = round(ALONE_S * GRID_HZ)
    around = np.lib.stride_tricks.sliding_window_view(np.pad(size, window), 2 * window + 1).max(axis=1)
    least = np.maximum(LEAST_STEP_MPS2, LEAST_SIGMAS * felt.road)
    return np.flatnonzero((size >= around) & (size > least))


def find_pairs(felt: Felt) -> list[Pair]:
    """Every pair of steps a change of gear could span."""
    steps = find_steps(felt)
    margin = round(MARGIN_S * GRID_HZ)
    steps = steps[(steps >= margin) & (steps < felt.time_s.size - margin)]
    pairs = []
    for i, first in enumerate(steps):
        for second in steps[i + 1 :]:
            wait = (second - first) / GRID_HZ
            if wait > LONGEST_S:
                break
            if wait >= SHORTEST_S:
                pairs.append(_pair(felt, int(first), int(second)))
    return pairs


def _pair(felt: Felt, first: int, second: int) -> Pair:
    signs = (int(np.sign(felt.step[first])), int(np.sign(felt.step[second])))
    before, middle, after = read_levels(felt.slow, first, second)
    return Pair(
        felt=felt, first=first, second=second, kind=KINDS[signs], before=before, middle=middle, after=after
    )  # fmt: skip


def read_levels(slow: np.ndarray, first: int, second: int) -> tuple[float, float, float]:
    """Levels before, between and after two steps at these indices of a course (n,) [m/s²]."""
    guard, length = round(GUARD_S * GRID_HZ), round(LEVEL_S * GRID_HZ)
    inset = min(guard, (second - first) // 3)
    return (
        float(slow[max(first - guard - length, 0) : first - guard].mean()),
        float(np.median(slow[first + inset : second - inset + 1])),
        float(slow[second + guard : second + guard + length].mean()),
    )
