"""How late a speed comes: found whatever the sensor's pose, refused where nothing tells."""

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter1d
from scipy.spatial.transform import Rotation

from shiftlog.signal.force_lag import find_force_lag

STEP_S = 0.1
LAGS_S = np.arange(-0.6, 2.01, STEP_S)


def a_drive(rng: np.random.Generator, lag_s: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    time_s = np.arange(0, 300, STEP_S)
    speed = 15 + gaussian_filter1d(rng.normal(0, 1, time_s.size), 20) * 30
    late = np.interp(time_s - lag_s, time_s, speed)
    force = np.column_stack([np.gradient(speed, STEP_S), rng.normal(0, 0.3, time_s.size), np.full(time_s.size, 9.81)])
    turn = Rotation.random(random_state=int(rng.integers(1000))).as_matrix()
    return force @ turn + rng.normal(0, 0.1, force.shape), late, np.ones(time_s.size, bool)


@pytest.mark.parametrize("lag_s", [-0.3, 0.0, 0.26, 1.04, 1.7])
def test_the_lag_is_found(lag_s: float) -> None:
    force, speed, used = a_drive(np.random.default_rng(1), lag_s)
    found = find_force_lag(force, speed, used, STEP_S, lags_s=LAGS_S, block_s=10.0)
    assert found.lag_s == pytest.approx(lag_s, abs=0.03)
    assert abs(found.lag_s - lag_s) < 4 * found.u_s + 0.01


def test_the_uncertainty_is_that_of_the_errors() -> None:
    off, said = [], []
    for seed in range(40):
        rng = np.random.default_rng(seed)
        force, speed, used = a_drive(rng, 0.5)
        force += gaussian_filter1d(rng.normal(0, 4, force.shape), 10, axis=0)
        found = find_force_lag(force, speed, used, STEP_S, lags_s=LAGS_S, block_s=10.0)
        off.append(found.lag_s - 0.5)
        said.append(found.u_s)
    # 40 draws give a standard deviation to 11 %; twice that and what a bootstrap over 30 blocks misses.
    assert np.median(said) == pytest.approx(np.std(off), rel=0.4)


def test_a_lag_beyond_all_that_were_tried_is_none() -> None:
    force, speed, used = a_drive(np.random.default_rng(2), 0.0)
    assert find_force_lag(force, speed, used, STEP_S, lags_s=np.arange(0.5, 1.5, STEP_S), block_s=10.0) is None
