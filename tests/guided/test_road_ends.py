"""Lever against tower from ordinary shifts, on cables made by their forces: loop and stretch within 0.3 mm."""

import numpy as np
import pytest

from shiftlog.pipeline import load_drive, measure_drive

from .made_cable import FINE_HZ, Axis, MadeCableDrive, drive_axis

LONG = 3 * MadeCableDrive.sequence
"""Fifty-four shifts, as a quarter of an hour in town has them."""


def _measure(made: MadeCableDrive, folder):
    return next(g for g in measure_drive(load_drive(made.run(folder))).guided if g.kind == "two_ended")


@pytest.mark.parametrize(("seed", "tower_hz", "late_s"), [(1, 166.0, 0.02), (2, 400.0, -0.025)])
def test_loops_and_stretch_are_those_of_the_cables(tmp_path, seed, tower_hz, late_s):
    made = MadeCableDrive(
        seed=seed, engage=Axis(play_mm=1.6, give_n_per_mm=28, friction_n=9, detent_n=9),
        tower_hz=tower_hz, late_s=late_s, drift_ppm=60, sequence=LONG,
    )  # fmt: skip
    told = _measure(made, tmp_path / "d")
    assert told.figure("loop_mm", "engage").value == pytest.approx(made.engage.loop_mm, abs=0.3)
    assert told.figure("loop_mm", "select").value == pytest.approx(made.select.loop_mm, abs=0.3)
    assert told.figure("stretch_mm", "engage").value == pytest.approx(made.stretch(), abs=0.3)
    assert "two fingers" in told.figure("free_play_mm", "engage").why


def test_a_drive_without_any_mark_is_measured_as_a_whole(tmp_path):
    made = MadeCableDrive(seed=3, engage=Axis(play_mm=2.2, friction_n=10), mark=False, sequence=LONG)
    told = _measure(made, tmp_path / "d")
    assert told.figure("loop_mm", "engage").value == pytest.approx(made.engage.loop_mm, abs=0.3)
    assert [place for place, _ in told.points_to] == ["outside"]


def test_detents_that_pull_harder_than_friction_holds_leave_no_loop_and_it_says_so(tmp_path):
    made = MadeCableDrive(seed=8, engage=Axis(play_mm=1.5, friction_n=1.5, detent_n=18))
    told = _measure(made, tmp_path / "d").figure("loop_mm", "engage")
    assert told.value is None or told.value == pytest.approx(made.engage.loop_mm, abs=0.3)
    assert told.value is not None or "detents" in told.why or "too unevenly" in told.why


def test_cables_without_play_or_friction_show_no_loop(tmp_path):
    made = MadeCableDrive(seed=4, engage=Axis(play_mm=0.0, friction_n=0.5, give_n_per_mm=60, detent_n=3), sequence=LONG)
    told = _measure(made, tmp_path / "d").figure("loop_mm", "engage")
    assert told.value is None and "do not load the cable enough" in told.why


def test_few_shifts_are_refused_with_what_to_drive(tmp_path):
    told = _measure(MadeCableDrive(seed=5, sequence=("1", "2", "3")), tmp_path / "d").figure("loop_mm", "engage")
    assert told.value is None and "drive" in told.why


def test_a_tower_that_is_logged_slowly_is_refused(tmp_path):
    told = _measure(MadeCableDrive(seed=6, tower_hz=100.0), tmp_path / "d")
    assert not told.figures and "100 values a second" in told.says[0]


def _cycle(axis: Axis, reach_mm: float) -> tuple[np.ndarray, np.ndarray]:
    """The second of two slow cycles between ± reach: lever, and its lead over the tower."""
    count = round(40 * FINE_HZ)
    hand = reach_mm * 1.5 * np.sin(np.arange(2 * count) / count * 2 * np.pi)
    wide = np.tile([-99.0, 99.0], (hand.size, 1))
    near, far, _ = drive_axis(
        axis, np.clip(hand, -reach_mm, reach_mm), holds=np.ones(hand.size, bool), hand_n=np.full(hand.size, 1e3),
        stop_mm=wide, rock_mm=np.zeros(hand.size), hand_n_per_mm=200.0,
    )  # fmt: skip
    return near[count:], (near - far)[count:]


@pytest.mark.parametrize(("play", "friction"), [(0.0, 12.0), (1.5, 0.5), (1.2, 9.0)])
def test_the_made_cable_is_a_jenkin_element_with_play(play, friction):
    """A spring with a Coulomb slider behind it, cycled between ± X, encloses 4 F (X − F/k) of force over travel.

    In lead over travel that is w (2 X − w) with w = 2 F/k, and play adds to w (from memory, textbooks on hysteresis;
    3 % for what the made cable's viscous drag adds).
    """
    axis, reach = Axis(play_mm=play, friction_n=friction, box_n=0.0, detent_n=0.0), 12.0
    near, lead = _cycle(axis, reach)
    area = 0.5 * abs(np.sum(near * np.roll(lead, -1) - lead * np.roll(near, -1)))
    width, travel = axis.loop_mm, float(np.ptp(near))
    assert area == pytest.approx(width * (travel - width), rel=0.03)
