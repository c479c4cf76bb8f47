"""What a difference is called."""

import pytest

from shiftlog.commands.compare_text import comparison_lines
from shiftlog.compare.drives import compare_drives
from shiftlog.compare.words import say_size
from shiftlog.measure.nouns import find_direction


@pytest.mark.parametrize(
    ("key", "unit", "value", "size"),
    [
        ("refused_share", "", -0.16, "−16 in 100"),
        ("shift_time_s", "s", 0.08, "0.08 s"),
    ],
)
def test_shares_differ_by_points_as_a_share_of_a_share_is_another_thing(key, unit, value, size):
    assert say_size(key, unit, value) == size


@pytest.mark.parametrize(
    ("key", "unit", "words"),
    [
        ("grind_share", "", ("fewer", "more")),
        ("shift_time_s", "s", ("shorter", "longer")),
        ("knock_peak_mps2", "m/s²", ("smaller", "larger")),
    ],
)
def test_which_way_a_figure_went(key, unit, words):
    assert (find_direction(key, unit, -1.0), find_direction(key, unit, 1.0)) == words


def told(result, shift, *, refused: int, drives: int) -> str:
    """What is printed of drives of twenty shifts each, of which some were refused before, none after."""
    sides = [
        [result(f"{name}{d}", [shift(n, time_s=0.4 + 0.002 * n + 0.01 * d, outcome="second_push" if n < k else "clean")
                               for n in range(20)]) for d in range(drives)]
        for name, k in (("b", refused), ("a", 0))
    ]  # fmt: skip
    return " ".join(" ".join(comparison_lines(compare_drives(*sides))).split())


def test_counts_come_first_and_a_none_says_what_it_leaves_open(result, shift):
    """The upper limit of 0 in 20 is 17 % (Clopper and Pearson: 1 - 0.025 ** (1 / 20) = 0.168)."""
    said = told(result, shift, refused=7, drives=1)
    assert "Refusals, all kinds: better. 7 of 20 before, 0 of 20 (at most 17 %) after: fewer by" in said
    assert "2-3 7 of 20 0 of 20 (at most 17 %)" in said


@pytest.mark.parametrize(("drives", "alone"), [(1, True), (3, False)])
def test_an_interval_that_leaves_out_the_day_says_so_beside_it(result, shift, drives, alone):
    said = told(result, shift, refused=7, drives=drives)
    shown = said[said.index("Shift time") :]
    assert ("shifts alone, not the day)" in shown) == alone
