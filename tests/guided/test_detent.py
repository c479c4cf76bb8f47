"""The detent against made let-goes: a spring that takes the lever in from a known depth."""

import numpy as np
import pytest

from .made_detent import GEARS, tell_detent


@pytest.mark.parametrize("seed", [1, 2])
def test_the_depth_from_which_it_runs_in_lies_in_the_bracket(tmp_path, seed):
    rng = np.random.default_rng(seed)
    truth = {gear: float(rng.uniform(0.3, 0.7)) for gear in GEARS}
    told, speeds = tell_detent(tmp_path / "d", from_depth=truth, seed=seed)
    for gear, depth in truth.items():
        figure = told.figure("runs_in_from", gear)
        assert figure.interval95[0] - 0.03 <= depth <= figure.interval95[1] + 0.03
        assert told.figure("run_in_mmps", gear).value == pytest.approx(np.median(speeds[gear]), rel=0.2)


def test_a_stuck_detent_is_named_and_the_others_are_not(tmp_path):
    told, _ = tell_detent(tmp_path / "d", from_depth={gear: 0.45 for gear in GEARS if gear != "4"}, seed=3)
    assert [words.split()[1] for _, words in told.points_to] == ["4"]
    assert told.figure("runs_in_from", "4").value is None


def test_a_hand_that_pushes_it_home_is_no_detent(tmp_path):
    told, _ = tell_detent(tmp_path / "d", from_depth={}, seed=4)
    assert all(told.figure("runs_in_from", gear).value is None for gear in GEARS)
