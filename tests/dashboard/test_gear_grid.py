"""The grid of gears: medians, distances in robust spreads by hand, and what is not claimed."""

import json

import numpy as np
import pytest

from dashboard.gear_grid import LEAST_SHIFTS, Cell, count_distances, distances, make_gear_grid, summarise
from dashboard.parts.gear_grid import draw_gear_grid, gear_grid_section
from shiftlog.model.reading import measured, unmeasured
from shiftlog.signal.robust import MAD_TO_SIGMA

UPS = (("1", "2"), ("2", "3"), ("3", "4"), ("4", "5"))


def cells(*values: float, n: int = 5, error: float | None = None) -> list[Cell]:
    return [Cell(value=value, n=n, error=error) for value in values]


def text_of(component) -> str:
    return json.dumps(component, default=lambda thing: thing.to_plotly_json(), ensure_ascii=False)


@pytest.fixture
def make_shifts(make_shift):
    """Three shifts of each kind, whose shift times lie round the one given."""

    def make(times: dict[tuple[str, str], float], key: str = "shift_time_s", **different) -> list:
        return [
            make_shift(from_gear=kind[0], to_gear=kind[1], readings={key: measured(key, time + 0.01 * k)}, **different)
            for kind, time in times.items()
            for k in (-1, 0, 1)
        ]

    return make


def test_distances_are_those_reckoned_by_hand():
    # Median 2.5; deviations 1.5, 0.5, 0.5, 7.5 with the median 1.0.
    expected = [(v - 2.5) / MAD_TO_SIGMA for v in (1.0, 2.0, 3.0, 10.0)]
    assert distances(cells(1.0, 2.0, 3.0, 10.0), margin=0.0) == pytest.approx(expected)


def test_gears_that_agree_make_no_other_gear_odd_within_the_margin():
    # The bare spread is 0; a margin of 2 makes a distance of 1 half a spread.
    assert distances(cells(5.0, 5.0, 5.0, 6.0), margin=2.0) == pytest.approx([0.0, 0.0, 0.0, 0.5])


def test_where_there_is_no_spread_to_judge_by_nothing_is_judged():
    assert distances(cells(5.0, 5.0, 5.0, 6.0), margin=0.0) == [None] * 4


def test_the_cells_own_error_is_a_floor_too_and_an_unsure_cell_is_held_to_its_own():
    some = [*cells(5.0, 5.0, 5.0, error=0.1), Cell(value=6.0, n=5, error=1.0)]
    assert distances(some, margin=0.0)[3] == pytest.approx(1.0)
    assert distances(cells(5.0, 5.0, 5.0, 6.0, error=0.1), margin=0.0)[3] == pytest.approx(10.0)


def test_too_few_kinds_or_shifts_are_not_judged():
    assert distances(cells(1.0, 2.0, 9.0), margin=0.1) == [None] * 3
    some = [*cells(1.0, 2.0, 3.0, 2.0), Cell(value=99.0, n=LEAST_SHIFTS - 1)]
    assert distances(some, margin=0.1)[4] is None and distances(some, margin=0.1)[0] is not None


@pytest.mark.parametrize("scale, move", [(1000.0, 0.0), (1.0, 40.0), (0.01, -3.0)])
def test_distances_do_not_change_with_the_unit(scale, move):
    values = np.array([0.20, 0.21, 0.24, 0.55])
    there = distances(cells(*(values * scale + move)), margin=0.0)
    assert there == pytest.approx(distances(cells(*values), margin=0.0))


def test_the_odd_upshift_is_found_whatever_the_downshifts_are(make_shifts):
    times = dict(zip(UPS, (0.20, 0.60, 0.22, 0.21), strict=True)) | {("3", "2"): 0.9, ("4", "3"): 0.9}
    grid = make_gear_grid(make_shifts(times))
    assert grid.kinds[:4] == UPS and grid.kinds[4:] == (("3", "2"), ("4", "3"))
    assert [kind for kind in grid.kinds if grid.cells[kind, "shift_time_s"].odd] == [("2", "3")]
    assert grid.cells[("2", "3"), "shift_time_s"].value == pytest.approx(0.60)


def test_standing_and_paused_shifts_and_neutral_stay_out(make_shifts):
    left = make_shifts({("1", "2"): 0.2}, standing=True) + make_shifts({("1", "2"): 0.2}, paused=True)
    left += make_shifts({("N", "1"): 0.2}) + make_shifts({("5", "2"): 0.2}, via=("4",)) + make_shifts({("R", "1"): 0.2})
    assert make_gear_grid(left).kinds == () and gear_grid_section(left) is None


def test_yes_and_no_become_a_share_whose_error_is_never_zero(make_shift):
    shifts = [make_shift(readings={"grind": measured("grind", yes)}) for yes in (True, False, False, False)]
    cell = summarise(shifts, "grind")
    assert cell.value == 0.25 and cell.n == 4
    none = summarise([make_shift(readings={"grind": measured("grind", False)})] * 4, "grind")
    # Standard deviation of a beta distribution with 1 and 5: √(5 / (36 · 7)).
    assert none.value == 0.0 and none.error == pytest.approx(np.sqrt(5 / (36 * 7)))


def test_figures_that_are_missing_are_not_counted(make_shift):
    there = make_shift(readings={"knock_peak_mps2": measured("knock_peak_mps2", 4.0)})
    gone = make_shift(readings={"knock_peak_mps2": unmeasured("knock_peak_mps2", "no accelerometer")})
    assert summarise([there, gone, gone], "knock_peak_mps2").n == 1
    assert summarise([gone], "knock_peak_mps2").value is None


def test_the_odd_cell_is_marked_by_colour_shape_and_word_with_its_count(make_shifts):
    said = text_of(gear_grid_section(make_shifts(dict(zip(UPS, (0.20, 0.60, 0.22, 0.21), strict=True)))))
    assert said.count('"odd"') == 1 and "tint3" in said and "◆ " in said
    assert "2 → 3: shift time higher than the other upshifts (0.60\N{NO-BREAK SPACE}s, n = 3)" in said


def test_cells_with_few_shifts_are_pale_and_untinted(make_shifts):
    times = dict(zip(UPS, (0.20, 0.21, 0.22, 0.21), strict=True))
    shifts = make_shifts(times) + make_shifts({("2", "4"): 2.0})[:2]
    said = text_of(draw_gear_grid(make_gear_grid(shifts)))
    assert said.count("number pale") == 1 and "tint" not in said and "n = 2" in said


def test_a_share_of_grinds_is_tested_by_its_counts():
    # 6 of 8 against 0 of 24: C(8, 6) ways of C(32, 6), p = 3.1e-5, 4.0 standard deviations of a normal distribution.
    shares = [Cell(value=6 / 8, n=8), Cell(value=0.0, n=8), Cell(value=0.0, n=8), Cell(value=0.0, n=8)]
    far = count_distances(shares)
    assert far[0] == pytest.approx(4.005, abs=0.01) and Cell(value=6 / 8, n=8, spreads=far[0]).odd
    assert all(-2 < one <= 0 for one in far[1:])
    # One of three is one bad shift, and no kind is odd for it, however quiet the others are.
    few = count_distances([Cell(value=1 / 3, n=3), *(Cell(value=0.0, n=6) for _ in range(4))])
    assert 0 < few[0] < 2
    assert count_distances([Cell(value=1.0, n=2), Cell(value=0.0, n=9)]) == [None, None]


def test_a_gear_that_grinds_is_marked_and_one_bad_shift_is_not(make_shift):
    """4 of 5 against 0 of 8: p = 5 / 715 = 0.007, and 0.042 for both ways of three kinds; 1 of 5: p = 0.38."""
    grinds = {("1", "2"): (0, 4), ("2", "3"): (4, 5), ("3", "4"): (0, 4)}

    def grid_of(counts):
        return make_gear_grid([
            make_shift(from_gear=kind[0], to_gear=kind[1], readings={"grind": measured("grind", number < yes)})
            for kind, (yes, n) in counts.items()
            for number in range(n)
        ])  # fmt: skip

    odd = {kind for (kind, _), cell in grid_of(grinds).cells.items() if cell.odd}
    assert odd == {("2", "3")}
    assert not any(cell.odd for cell in grid_of(grinds | {("2", "3"): (1, 5)}).cells.values())


def test_where_too_few_kinds_can_be_judged_it_is_said_how_many_could(make_shifts):
    few = text_of(gear_grid_section(make_shifts(dict(zip(UPS[:3], (0.20, 0.60, 0.22), strict=True)))))
    assert "cannot be told" in few and "stands out from" not in few
    times = dict(zip(UPS, (0.20, 0.21, 0.22, 0.21), strict=True)) | {("3", "2"): 0.9}
    some = text_of(gear_grid_section(make_shifts(times)))
    assert "No figure that could be judged stands out" in some and "4 of 5 figures could be judged" in some
