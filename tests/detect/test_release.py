"""How a lever came to a rest: one that creeps home ever more slowly is no hand's work and no swing."""

import numpy as np
import pytest

from shiftlog.detect.release import judge_approach
from shiftlog.detect.rests import MOST_SWING_DAMPING
from shiftlog.model.lever import LeverPath
from shiftlog.model.settings import Settings
from shiftlog.signal.free_motion import minimum_jerk

RATE_HZ, HELD_S, NOISE_MM, FROM_MM = 100.0, 1.0, 0.1, 20.0
TIME = np.arange(0, 6, 1 / RATE_HZ)


def lever(select_mm: np.ndarray) -> LeverPath:
    """That way across the gate, seen by a sensor with noise, on the neutral line."""
    rng = np.random.default_rng(71)
    seen = select_mm + rng.normal(0, NOISE_MM, TIME.size)
    none = np.zeros(TIME.size)
    return LeverPath(
        time_s=TIME, select_mm=seen, engage_mm=rng.normal(0, NOISE_MM, TIME.size), engage_mmps=none, still_mmps=none,
        depth=none, gear=np.full(TIME.size, -1), gears=(), seat_mm=np.zeros(0), zero_u_mm=np.zeros(0),
        valid=np.ones(TIME.size, bool), rate_hz=RATE_HZ, noise_mm=NOISE_MM,
    )  # fmt: skip


def judge(select_mm: np.ndarray):
    """From where its speed first falls below 5 mm/s after the move, as a rest begins."""
    speed = np.abs(np.gradient(select_mm, TIME))
    start = int(np.flatnonzero((TIME > HELD_S + 0.2) & (speed < Settings().still_mmps))[0])
    return judge_approach(lever(select_mm), start, TIME.size, int((HELD_S - 0.2) * RATE_HZ), Settings())


@pytest.mark.parametrize("constant_s", [0.4, 0.8, 1.0, 1.2])
def test_a_lever_that_creeps_home_was_let_go_and_does_not_swing(constant_s):
    approach = judge(FROM_MM * np.exp(-np.maximum(TIME - HELD_S, 0) / constant_s))
    assert approach.released is True and approach.came_from == "right"
    assert approach.free.damping > MOST_SWING_DAMPING
    # Half a millimetre of 20: what is left of the way when the window ends.
    assert approach.free.to_mm == pytest.approx(0.0, abs=0.5)


@pytest.mark.parametrize("lasts_s", [0.6, 1.2])
def test_a_hand_that_leads_it_home_is_still_told(lasts_s):
    assert judge(FROM_MM * (1 - minimum_jerk((TIME - HELD_S) / lasts_s))).released is False
