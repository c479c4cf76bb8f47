"""Two textbook shapes of hysteresis: play, and a spring in series with Coulomb friction.

Both are standard (the play operator, and Jenkins' element; from memory, no page): between the branches lies the width
of the play, or twice the friction over the stiffness; one round encloses that width times the travel of the far end.
"""

import numpy as np
import pytest

from shiftlog.signal.play_loop import fit_play_loop

RATE_HZ = 250.0


def _sweeps() -> np.ndarray:
    """To and fro over 30 mm at 20 mm/s, eight times, closed."""
    time_s = np.arange(0, 24, 1 / RATE_HZ)
    return 15 * (2 / np.pi) * np.arcsin(np.sin(2 * np.pi * time_s / 3))


def _play(near: np.ndarray, width: float) -> np.ndarray:
    far = np.zeros_like(near)
    for k in range(1, near.size):
        far[k] = np.clip(far[k - 1], near[k] - width / 2, near[k] + width / 2)
    return far


def _jenkins(near: np.ndarray, stiffness: float, friction: float) -> np.ndarray:
    """The far end slides as soon as the spring pulls harder than friction holds."""
    far = np.zeros_like(near)
    for k in range(1, near.size):
        pull = stiffness * (near[k] - far[k - 1])
        far[k] = near[k] - np.sign(pull) * friction / stiffness if abs(pull) > friction else far[k - 1]
    return far


@pytest.mark.parametrize("width", [0.5, 1.0, 3.0])
def test_the_loop_of_play_is_its_width(width: float) -> None:
    """Closed form; 0.02 mm, as the slope is taken over 0.08 s."""
    near = _sweeps()
    loop = fit_play_loop(near, _play(near, width)[:, None], RATE_HZ)
    assert loop.loop_mm == pytest.approx(width, abs=0.02)


@pytest.mark.parametrize(("stiffness", "friction"), [(10.0, 5.0), (4.0, 5.0)])
def test_the_loop_of_a_spring_and_coulomb_friction_is_twice_their_quotient(stiffness: float, friction: float) -> None:
    """Closed form, 2 F / k; 0.02 mm."""
    near = _sweeps()
    loop = fit_play_loop(near, _jenkins(near, stiffness, friction)[:, None], RATE_HZ)
    assert loop.loop_mm == pytest.approx(2 * friction / stiffness, abs=0.02)


def test_one_round_encloses_the_width_times_the_travel() -> None:
    """Area of the parallelogram: width times the far end's travel, 1.5 · (30 − 1.5) mm²; 1 % for the sampling."""
    near = _sweeps()
    far = fit_play_loop(near, _play(near, 1.5)[:, None], RATE_HZ).far_mm
    one = slice(int(3 * RATE_HZ), int(6 * RATE_HZ) + 1)
    area = abs(float(np.trapezoid(far[one], near[one])))
    assert area == pytest.approx(1.5 * (30 - 1.5), rel=0.01)


def test_a_late_sensor_widens_no_loop() -> None:
    """10 ms late at 20 mm/s on triangles alone cannot be told from 0.4 mm of loop; over several speeds it can."""
    near = np.concatenate([_sweeps(), _sweeps()[::2], _sweeps()[::4]])
    far = _play(near, 1.0)
    time_s = np.arange(near.size) / RATE_HZ
    late = np.interp(time_s - 0.010, time_s, far)
    loop = fit_play_loop(near, late[:, None], RATE_HZ)
    assert loop.loop_mm == pytest.approx(1.0, abs=0.1)
    assert loop.lag_s == pytest.approx(0.010, abs=0.003)


def test_a_far_end_that_goes_further_along_its_other_way_is_followed_all_the_same() -> None:
    """What swings while the near end stands is none of its travel; 0.05 mm."""
    near = np.concatenate([_sweeps(), np.zeros(int(6 * RATE_HZ))])
    across = np.concatenate([np.zeros(_sweeps().size), 3 * _sweeps()[: int(6 * RATE_HZ)]])
    loop = fit_play_loop(near, np.column_stack([_play(near, 2.0), across]), RATE_HZ)
    assert loop.loop_mm == pytest.approx(2.0, abs=0.05)
