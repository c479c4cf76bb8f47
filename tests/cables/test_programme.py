"""The linear programme of two cables against a second solver: every corner of its polytope, by plain linear algebra."""

from itertools import combinations

import numpy as np
import pytest

from shiftlog.cables.setting import Rows, find_best


def best_corner(rows: Rows, ranges: tuple[tuple[float, float], tuple[float, float]]) -> float:
    """Greatest smallest margin t over the corners of {t ≤ room − takes · x, x within its ranges}.

    An optimum of a linear programme lies on a corner (Dantzig, 1951), where three of its limits hold at once.
    """
    limits = [(*take, 1.0, room) for take, room in zip(rows.takes, rows.room, strict=True)]
    for axis, (low, high) in enumerate(ranges):
        unit = np.eye(2)[axis]
        limits += [(*unit, 0.0, high), (*-unit, 0.0, -low)]
    table = np.array(limits)
    best = -np.inf
    for three in combinations(range(len(table)), 3):
        left, right = table[list(three), :3], table[list(three), 3]
        if abs(np.linalg.det(left)) < 1e-9:
            continue
        corner = np.linalg.solve(left, right)
        if np.all(table[:, :3] @ corner <= table[:, 3] + 1e-9):
            best = max(best, float(corner[2]))
    return best


@pytest.mark.parametrize("seed", range(12))
def test_the_programme_finds_the_best_corner(seed: int) -> None:
    rng = np.random.default_rng([seed, 14])
    count = int(rng.integers(4, 11))
    rows = Rows(
        room=rng.uniform(-1.5, 3, count), u=np.full(count, 0.05), gears=tuple(str(k) for k in range(count)),
        takes=np.column_stack([rng.choice([-1, 1], count), rng.uniform(-1, 1, count)]),
    )  # fmt: skip
    ranges = ((-float(rng.uniform(0.5, 4)), float(rng.uniform(0.5, 4))), (-2.0, 2.0))
    assert rows.smallest(find_best(rows, ranges)) == pytest.approx(best_corner(rows, ranges), abs=2e-4)


def test_a_cable_that_can_still_help_is_set_where_the_other_cannot() -> None:
    """Half a millimetre is missing across whatever is turned; along the gate 1 and 3 lack one, 2 and 4 have two."""
    along, across = [[1, 0], [-1, 0], [1, 0], [-1, 0]], [[0, 1], [0, -1]]
    rows = Rows(
        room=np.array([-1.0, 2.0, -1.0, 2.0, -0.5, -0.5]), takes=np.array([*along, *across], float),
        u=np.full(6, 0.1), gears=("1", "2", "3", "4", "3", "3"),
    )  # fmt: skip
    best = find_best(rows, ((-4.0, 4.0), (-2.0, 2.0)))
    assert rows.smallest(best) == pytest.approx(-0.5, abs=1e-3)
    assert best == pytest.approx([-1.0, 0.0], abs=1e-3)
