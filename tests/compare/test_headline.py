"""The headline over all kinds: never surer than the shifts it rests on."""

import numpy as np
import pytest

from shiftlog.compare.cells import gather_cells
from shiftlog.compare.headline import compare_levels

SHIFTS = (-1.5, -0.5, 0.5, 1.5)
"""Four shifts of a kind in each drive, standard deviation 1.29, the same in every drive."""


def compare(levels: tuple[float, ...], *, counted: bool = False):
    """Three drives a side at these levels, two kinds of shift each."""
    drives = [{kind: list(level + np.array(SHIFTS)) for kind in ("2-3", "3-4")} for level in levels]
    cells = gather_cells([drives[:3], drives[3:]], ("2-3", "3-4"), yes_no=False)
    return compare_levels(cells, counted=counted)


def test_drives_that_agree_by_chance_are_no_surer_than_their_shifts() -> None:
    """Median of four, variance π / (2n + π − 2) of 5/3; two kinds, three drives a side."""
    found = compare((5.00, 5.01, 5.02, 5.50, 5.51, 5.52))
    of_shifts = 5 / 3 * np.pi / (8 + np.pi - 2) / 2 * 2 / 3
    assert found.difference == pytest.approx(0.5)
    assert found.error**2 == pytest.approx(of_shifts, rel=1e-6)
    assert found.p > 0.2


def test_drives_that_differ_more_than_their_shifts_tell_the_spread_themselves() -> None:
    found = compare((3.0, 5.0, 7.0, 3.5, 5.5, 7.5))
    assert found.error**2 == pytest.approx(4.0 * 2 / 3, rel=1e-6)


def test_counts_have_limits_of_their_own() -> None:
    assert compare((5.00, 5.01, 5.02, 5.50, 5.51, 5.52), counted=True).error < 0.02
