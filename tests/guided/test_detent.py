"""The detent against made let-goes: a spring that takes the lever in from a known depth."""

import numpy as np
import pytest

from shiftlog.pipeline import load_drive, measure_drive

from .made import LEVER_HZ, PLACES, MadeDrive, Mark, Way, lever_log

GEARS = ("1", "2", "3", "4", "5")


def _run_in(way: Way, gear: str, pull_mmps2: float) -> float:
    """The spring takes it home against its stop, ever faster; → its speed there [mm/s]."""
    select, engage = PLACES[gear]
    start, side = way.here[1], np.sign(engage)
    left = abs(engage - start)
    lasts_s = np.sqrt(2 * left / pull_mmps2)
    time_s = np.arange(1, int(lasts_s * LEVER_HZ) + 1) / LEVER_HZ
    way.add(np.column_stack([np.full(time_s.size, select), start + side * pull_mmps2 * time_s**2 / 2]))
    way.add(np.array([[select, engage]]))
    return float(pull_mmps2 * lasts_s)


def _drive(folder, *, from_depth: dict[str, float], seed: int, pull: float = 3000.0):
    rng, way = np.random.default_rng([seed, 7]), Way()
    speeds: dict[str, list[float]] = {}
    way.stay(1.0)
    for gear in GEARS:
        way.into(gear, in_s=0.3).stay(1.0)
    way.out().stay(1.0)
    start_s = way.now_s
    for gear in GEARS:
        select, engage = PLACES[gear]
        way.move((select, 0.0), 0.3)
        for depth in np.arange(0.2, 0.86, 0.08):
            way.move((select, depth * engage), 0.35).stay(0.6)
            if depth + rng.normal(0, 0.01) > from_depth.get(gear, 2.0):
                speeds.setdefault(gear, []).append(_run_in(way, gear, pull))
                way.stay(0.6)
            elif rng.uniform() < 0.5:
                way.stay(0.4)
            way.move((select, 0.0), 0.4).stay(0.3)
        way.move((select, engage), 0.5).stay(0.6).out().stay(0.4)
    marks = [Mark(kind="detent", start_s=start_s, end_s=way.now_s - 0.2)]
    MadeDrive(logs=[lever_log(way.mm, rng)], marks=marks).write(folder)
    return measure_drive(load_drive(folder)).guided[0], speeds


@pytest.mark.parametrize("seed", [1, 2])
def test_the_depth_from_which_it_runs_in_lies_in_the_bracket(tmp_path, seed):
    rng = np.random.default_rng(seed)
    truth = {gear: float(rng.uniform(0.3, 0.7)) for gear in GEARS}
    told, speeds = _drive(tmp_path / "d", from_depth=truth, seed=seed)
    for gear, depth in truth.items():
        figure = told.figure("runs_in_from", gear)
        assert figure.interval95[0] - 0.03 <= depth <= figure.interval95[1] + 0.03
        assert told.figure("run_in_mmps", gear).value == pytest.approx(np.median(speeds[gear]), rel=0.2)


def test_a_stuck_detent_is_named_and_the_others_are_not(tmp_path):
    told, _ = _drive(tmp_path / "d", from_depth={gear: 0.45 for gear in GEARS if gear != "4"}, seed=3)
    assert [words.split()[1] for _, words in told.points_to] == ["4"]
    assert told.figure("runs_in_from", "4").value is None


def test_a_hand_that_pushes_it_home_is_no_detent(tmp_path):
    told, _ = _drive(tmp_path / "d", from_depth={}, seed=4)
    assert all(told.figure("runs_in_from", gear).value is None for gear in GEARS)
