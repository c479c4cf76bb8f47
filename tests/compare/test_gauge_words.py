"""A gauge study in the words of engineers, on the study that AIAG prints; and what repeat drives are missing."""

import csv

import numpy as np
import pytest

from shiftlog.compare.gauge import study_ranges, study_variance
from shiftlog.compare.gauge_words import gauge_lines, rank_gauge, say_gauge, say_pooled
from shiftlog.compare.repeat_plan import find_missing
from shiftlog.model.repeatability import GaugeRow


@pytest.fixture(scope="module")
def values(reference_tables) -> np.ndarray:
    with (reference_tables / "aiag_msa_grr.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    given = {(r["appraiser"], r["trial"]): [float(r[f"part{n}"]) for n in range(1, 11)] for r in rows}
    return np.array([[given[a, str(t)] for t in (1, 2, 3)] for a in "ABC"]).transpose(2, 0, 1)


def test_shares_of_the_total_as_printed(values):
    """AIAG, Measurement Systems Analysis, 4th edition, figure III-B 16: 17.61, 20.04, 26.68 and 96.38 % of the total.

    The print rounds its sigmas to five digits first; half of the second decimal and that rounding are 0.02.
    """
    lines = {line.name: line for line in gauge_lines(study_ranges(values), None)}
    found = [lines[n].of_total for n in ("Repeatability", "Reproducibility", "Gauge", "Setup to setup", "Total")]
    assert found == pytest.approx((17.61, 20.04, 26.68, 96.38, 100.0), abs=0.02)
    assert {line.of_tolerance for line in lines.values()} == {None}


def test_the_tolerance_is_the_margin_either_way_and_squares_add_up(values):
    study = study_variance(values)
    lines = {line.name: line for line in gauge_lines(study, 2.0)}
    assert lines["Gauge"].of_tolerance == pytest.approx(100 * 6 * study.gauge / 4.0)
    parts = [lines[n].of_total for n in ("Repeatability", "Reproducibility", "Setup to setup")]
    assert sum(p**2 for p in parts) == pytest.approx(100.0**2)


def test_the_usual_rule_in_words(values):
    row = GaugeRow(measure="knock_peak_mps2", unit="m/s²", setups=("a",), drivers=("b",), repeats=3,
                   average_range=study_ranges(values), anova=study_variance(values))  # fmt: skip
    assert "28 % of the total, 10 to 30 %: usable for some questions" in say_gauge(row)
    assert "tells 4 classes of setups apart, fewer than the 5" in say_gauge(row)
    assert "do not interact beyond chance (p 0.97)" in say_pooled(row.anova)
    assert say_pooled(row.average_range) is None


def test_drives_that_never_differ_are_said_to(values):
    flat = np.zeros((3, 2, 2)) + np.arange(3.0)[:, None, None]
    assert rank_gauge(study_variance(flat)) == "drives and drivers did not differ at all, setups did"
    assert "nothing varies" in rank_gauge(study_variance(np.zeros((3, 2, 2))))


def test_what_is_missing_for_a_study_is_named():
    assert find_missing({("before", "A"): 2, ("before", "B"): 2, ("after", "A"): 3, ("after", "B"): 2}) == ()
    alone = find_missing({("before", "A"): 3})
    assert len(alone) == 2 and "stage than before" in alone[0] and "beside A" in alone[1]
    thin = find_missing({("before", "A"): 2, ("before", "B"): 1, ("after", "A"): 2})
    assert thin == (
        "one more drive by driver B at stage before, where there is one",
        "two drives by driver B at stage after, where there is none",
    )
