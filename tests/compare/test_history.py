"""What repeat drives with nothing changed allow to be said, and when they are not believed."""

from dataclasses import replace

import numpy as np
import pytest

from shiftlog.compare.drives import compare_drives
from shiftlog.compare.repeatability import measure_setup
from shiftlog.errors import CompareError
from shiftlog.model.drive import ClockMatch, Mounting
from shiftlog.model.reading import measured
from shiftlog.model.recording import Quality
from shiftlog.model.result import RecordingReport


def row(comparison, measure="shift_time_s", group="all"):
    return next(r for r in comparison.rows if (r.measure, r.group) == (measure, group))


@pytest.fixture
def drives(result, shift):
    """Drives whose days differ by ``day`` s, shifts within them by 0.02 s, of two kinds."""

    def make(name, count, *, stage, centre_s=0.4, day=0.005, seed=1, car="test car", driver=None):
        rng = np.random.default_rng([seed, *name.encode()])
        made = []
        for d in range(count):
            level = centre_s + rng.normal(0, day)
            shifts = [
                shift(k, gears, level + rng.normal(0, 0.02)) for gears in (("2", "3"), ("3", "4")) for k in range(8)
            ]
            one = result(f"{name}{d}", shifts, car=car, driver=driver)
            made.append(replace(one, head=replace(one.head, stage=stage)))
        return made

    return make


def test_one_drive_a_side_is_firm_with_repeat_drives_and_says_so(drives):
    before, after = drives("b", 1, stage="before", centre_s=0.5), drives("a", 1, stage="after")
    alone, known = (
        row(compare_drives(before, after, history=h)) for h in ((), drives("r", 6, stage="spring"))
    )  # fmt: skip
    assert (alone.provisional, alone.smallest_change, alone.history_df) == (True, None, 0)
    assert "the day and the repair cannot be told apart" in alone.why
    assert (known.verdict, known.provisional, known.df, known.history_df) == ("better", False, 5, 5)
    assert "known from repeat drives (5 degrees of freedom)" in known.why
    assert 0 < known.smallest_change < 0.05


def test_repeat_drives_raise_the_degrees_of_freedom(drives):
    before, after = drives("b", 3, stage="before"), drives("a", 3, stage="after")
    assert row(compare_drives(before, after)).df == 4
    past = drives("r", 4, stage="spring") + drives("s", 3, stage="autumn") + drives("t", 1, stage="alone")
    assert row(compare_drives(before, after, history=past)).df == 9


def test_the_drives_that_are_compared_are_no_history_of_their_own(drives):
    before, after = drives("b", 3, stage="before"), drives("a", 3, stage="after")
    assert row(compare_drives(before, after, history=before + after)).df == 4


def test_repeat_drives_that_differ_far_less_than_these_are_not_believed(drives):
    before, after = (drives(n, 3, stage=n, day=0.2) for n in ("b", "a"))
    assert row(compare_drives(before, after, history=drives("r", 6, stage="spring", day=0.001))).history_df == 0


def test_repeat_drives_of_other_cars_count_only_where_there_are_no_own_and_are_named(drives):
    before, after = drives("b", 3, stage="before"), drives("a", 3, stage="after")
    other, own = drives("o", 5, stage="x", car="another car"), drives("r", 3, stage="spring")
    found = compare_drives(before, after, history=other)
    assert row(found).history_df == 3 and "another car" in " ".join(found.caveats)
    both = compare_drives(before, after, history=other + own)
    assert row(both).history_df == 2 and "another car" not in " ".join(both.caveats)


def test_repeat_drives_of_other_cars_make_no_verdict_firm(drives):
    """However many they are, this car's drives may differ more."""
    before, after = drives("b", 1, stage="before", centre_s=0.5), drives("a", 1, stage="after")
    many = [one for car in "xyz" for one in drives(car, 8, stage="s", car=f"car {car}")]
    found = row(compare_drives(before, after, history=many))
    assert (found.provisional, found.df, found.history_df) == (True, 3, 3)
    assert found.smallest_change is not None and "of other cars" in found.method


def test_knocks_of_repeat_drives_felt_elsewhere_tell_nothing_of_these(drives):
    def felt(place, some):
        return [_felt(one, place) for one in some]

    sides = felt("gearbox", drives("b", 1, stage="before")), felt("gearbox", drives("a", 1, stage="after"))
    for place, df in (("lever", 0), ("gearbox", 5)):
        history = felt(place, drives("r", 6, stage="spring"))
        assert row(compare_drives(*sides, history=history), "knock_peak_mps2").history_df == df


def test_repeatability_of_a_setup(drives):
    """Six drives: the spread of a drive's figure is that of the day and of two medians of eight."""
    worth = measure_setup(drives("r", 40, stage="same", day=0.03))
    found = next(r for r in worth.repeatability if r.measure == "shift_time_s")
    assert (found.drives, found.shifts, found.df) == (40, 640, 39)
    assert found.shift_sd == pytest.approx(0.02, rel=0.1)
    assert found.within_sd == pytest.approx(0.03, rel=0.3)
    assert found.smallest_change == pytest.approx(2.02 * found.within_sd * np.sqrt(2 / 3), rel=0.01)


def test_drives_that_agree_by_chance_show_no_more_than_their_shifts_can(drives):
    """Three drives a setup, thirty setups: some agree far better than their shifts do."""
    worth = [measure_setup(drives("r", 3, stage="same", seed=n)).repeatability for n in range(30)]
    rows = [next(r for r in some if r.measure == "shift_time_s") for some in worth]
    least = min(r.smallest_change / r.shift_sd for r in rows)
    lucky = min(r.within_sd / r.shift_sd for r in rows)
    # Of 16 shifts even their mean is known no better than to a quarter of a shift's spread; t(2) is 4.303.
    assert lucky < 0.15 and least > 4.303 * 0.25 * np.sqrt(2 / 3)


def test_a_gauge_study_needs_drivers_and_finds_the_one_who_differs(drives):
    cells = [
        drives(f"{stage}{driver}", 3, stage=stage, driver=driver, centre_s=0.4 + 0.2 * (driver == "B"))
        for stage in ("one", "two") for driver in "AB"
    ]  # fmt: skip
    found = next(r for r in measure_setup(sum(cells, [])).gauge if r.measure == "shift_time_s")
    assert found.repeats == 3
    for study in (found.average_range, found.anova):
        assert study.driver == pytest.approx(0.2 / np.sqrt(2), rel=0.1)
        assert study.repeat < 0.02 and study.setup < 0.02
    alone = next(r for r in measure_setup(cells[0]).gauge if r.measure == "shift_time_s")
    assert alone.anova is None and "two drivers" in alone.why


def test_repeatability_refuses_one_drive_and_two_cars(drives):
    with pytest.raises(CompareError, match="two drives or more"):
        measure_setup(drives("r", 1, stage="s"))
    with pytest.raises(CompareError, match="different cars"):
        measure_setup(drives("r", 2, stage="s") + drives("o", 2, stage="s", car="another car"))


def test_repeats_that_did_not_differ_claim_no_smallest_change(drives):
    """Three drives of the same shifts: a spread of nought is no knowledge of the spread."""
    same = drives("r", 1, stage="s") * 3
    worth = measure_setup([_renamed(one, n) for n, one in enumerate(same)])
    found = next(r for r in worth.repeatability if r.measure == "shift_time_s")
    assert found.within_sd == 0 and found.smallest_change is None and found.drives_needed is None
    assert "did not differ at all" in found.why


def test_a_shop_s_own_margin_counts(drives):
    worth = measure_setup(drives("r", 6, stage="s", day=0.03), limits={"shift_time_s_margin": 0.1})
    found = next(r for r in worth.repeatability if r.measure == "shift_time_s")
    assert found.margin == 0.1
    wide = found.smallest_change / 0.1
    assert found.drives_needed == max(1, int(np.ceil(3 * wide**2)))


def _felt(result, place):
    """A drive whose knocks were felt there: one that is as many m/s² as the shift took hundredths of a second."""
    report = RecordingReport(
        name=place, place=place, quality=Quality(rate_hz=1600.0, jitter_s=0.0, samples=9, duration_s=1.0),
        clock=ClockMatch(offset_s=0.0, drift_ppm=0.0, how="reference", confidence=1.0),
        mounting=Mounting(rotation=None, how="unknown"), can_measure=("knock",), cannot_measure=(),
    )  # fmt: skip
    knocks = [measured("knock_peak_mps2", 100 * s.value("shift_time_s")) for s in result.shifts]
    shifts = tuple(
        replace(s, readings={**s.readings, "knock_peak_mps2": k}) for s, k in zip(result.shifts, knocks, strict=True)
    )
    return replace(result, shifts=shifts, recordings=(report,))


def _renamed(result, number):
    inputs = tuple(replace(f, sha256=f"{number}{f.sha256[1:]}") for f in result.inputs)
    return replace(result, inputs=inputs)
