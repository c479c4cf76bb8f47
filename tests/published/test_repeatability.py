"""Repeat readings against Bland and Altman, Lancet 1986: peak expiratory flow by two meters, 17 people, twice each.

Data in ``bland_altman_pefr.csv``. The paper rounds standard deviations before it doubles them; values recomputed from
the data are held to 0.001, the print to its own rounding (0.2 l/min).
"""

import csv

import numpy as np
import pytest

from shiftlog.compare.cells import gather_cells
from shiftlog.compare.headline import compare_levels, fit_levels


@pytest.fixture(scope="module")
def readings(reference_tables) -> dict[str, np.ndarray]:
    with (reference_tables / "bland_altman_pefr.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    return {key: np.array([float(r[key]) for r in rows]) for key in rows[0]}


@pytest.mark.parametrize(("meter", "unrounded", "printed"), [("mini", 56.316, 56.4), ("wright", 43.294, 43.2)])
def test_coefficient_of_repeatability(readings, meter, unrounded, printed):
    """2 · √(Σd²/n): twice √2 times the within-person standard deviation about the two readings' own mean."""
    pairs = np.stack([readings[f"{meter}1"], readings[f"{meter}2"]], axis=1)
    noise = gather_cells([[{"flow": pair} for pair in pairs]], ("flow",), yes_no=True).noise
    coefficient = 2 * np.sqrt(2 * noise)
    assert coefficient == pytest.approx(unrounded, abs=0.001)
    assert coefficient == pytest.approx(printed, abs=0.2)


def test_the_difference_between_the_meters_and_its_limits(readings):
    """First readings: mean −2.1176, standard deviation 38.7651 (38.8 printed)."""
    differences = readings["wright1"] - readings["mini1"]
    fit = fit_levels(gather_cells([[{"d": [d]} for d in differences]], ("d",), yes_no=False))
    assert fit.level.mean() == pytest.approx(-2.1176, abs=5e-5)
    sd = fit.level.std(ddof=1)
    assert sd == pytest.approx(38.7651, abs=5e-5)
    limits = fit.level.mean() - 2 * sd, fit.level.mean() + 2 * sd
    assert limits == pytest.approx((-79.65, 75.41), abs=0.005)
    assert np.sqrt(3 * sd**2 / 17) == pytest.approx(16.285, abs=5e-4)


def test_a_person_is_a_block_as_a_drive_is(readings):
    """The same people by both meters, as kinds of one drive each: the residual tells the spread of the differences."""
    people = [{"a": [x], "b": [y]} for x, y in zip(readings["wright1"], readings["mini1"], strict=True)]
    fit = fit_levels(gather_cells([people], ("a", "b"), yes_no=False))
    assert np.sqrt(2 * fit.squares / fit.df) == pytest.approx(38.7651, abs=5e-5)
    assert compare_levels(gather_cells([people], ("a", "b"), yes_no=False)) is None
