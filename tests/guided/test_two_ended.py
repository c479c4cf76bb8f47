"""Lever against tower on made cables: loop, free play and stretch within 0.3 mm."""

import numpy as np
import pytest

from shiftlog.guided.two_ended import _say
from shiftlog.pipeline import load_drive, measure_drive

from .made_two_ended import MadeTwoEnded


def _measure(made: MadeTwoEnded, folder):
    return measure_drive(load_drive(made.run(folder))).guided[0]


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_loop_free_play_and_stretch_are_those_of_the_cable(tmp_path, seed):
    rng = np.random.default_rng(seed)
    made = MadeTwoEnded(
        seed=seed, backlash_mm=tuple(rng.uniform(0.6, 2.5, 2)), friction_mm=tuple(rng.uniform(0.1, 1.5, 2)),
        stretch_mm=float(rng.uniform(0.5, 2.0)), lag_s=float(rng.uniform(0, 0.01)),
    )  # fmt: skip
    told = _measure(made, tmp_path / "d")
    for k, axis in enumerate(("select", "engage")):
        assert told.figure("loop_mm", axis).value == pytest.approx(made.backlash_mm[k] + made.friction_mm[k], abs=0.3)
    assert told.figure("free_play_mm", "engage").value == pytest.approx(made.backlash_mm[1], abs=0.3)
    assert told.figure("stretch_mm", "engage").value == pytest.approx(made.stretch_mm, abs=0.3)


def test_a_press_as_slow_as_a_lever_at_rest_stretches_the_cable_all_the_same(tmp_path):
    made = MadeTwoEnded(seed=7, backlash_mm=(2.0, 1.0), friction_mm=(1.0, 0.8), stretch_mm=0.5)
    assert _measure(made, tmp_path / "d").figure("stretch_mm", "engage").value == pytest.approx(0.5, abs=0.1)


def test_the_tower_is_never_taken_for_the_lever(tmp_path):
    drive = load_drive(MadeTwoEnded(seed=4).run(tmp_path / "d"))
    assert drive.signals.lever.place == "lever"
    assert drive.signals.tower.place == "tower"


def test_without_a_tower_no_loop_is_given_and_it_says_what_to_fit(tmp_path):
    told = _measure(MadeTwoEnded(seed=4, with_tower=False), tmp_path / "d")
    assert not any(f.key == "loop_mm" for f in told.figures)
    assert "place = tower" in " ".join((*told.says, *told.doubts))


def test_a_wide_loop_points_outside(tmp_path):
    told = _measure(MadeTwoEnded(seed=5, backlash_mm=(0.8, 2.5), friction_mm=(0.2, 1.0)), tmp_path / "d")
    assert [place for place, _ in told.points_to] == ["outside"]


def test_the_two_ends_go_together_only_where_both_ways_were_measured():
    along = ("select", 0.5, None, None)
    both, one = [along, ("engage", 0.6, None, None)], [along, ("engage", None, None, "too slow")]
    assert any("go together" in says for says in _say(both)[0])
    assert not any("go together" in says for says in _say(one)[0])


def test_play_too_small_to_be_told_is_not_said_to_be_a_push_that_was_not_made(tmp_path):
    told = _measure(MadeTwoEnded(seed=6, backlash_mm=(0.05, 0.05), friction_mm=(0.6, 0.8)), tmp_path / "d")
    assert "no play that these sensors show" in told.figure("free_play_mm", "engage").why
