"""A rotation from axes with doubts of their own, and the chance that forward is right."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from shiftlog.signal.axis_turn import chance_within, fit_turn

NO_SCATTER = np.zeros((3, 3, 3, 3))


def measured(true: Rotation, errors_rad: np.ndarray) -> np.ndarray:
    """Axes in the sensor, each turned by its own small rotation vector."""
    axes = true.inv().apply(np.eye(3))
    return np.stack([Rotation.from_rotvec(e).apply(a) for e, a in zip(errors_rad, axes, strict=True)])


def test_the_covariance_is_what_comes_out_of_random_axes() -> None:
    rng = np.random.default_rng(0)
    doubt = np.deg2rad([[0, 2.0, 0.5], [1.0, 0, 0.5], [1.0, 1.5, 0]])
    turns, said = [], None
    for true in Rotation.random(400, random_state=1):
        rows = true.as_matrix()
        off = rng.normal(0, 1, (3, 3)) * doubt
        axes = rows + off @ rows
        turn = fit_turn(axes, NO_SCATTER, doubt)
        turns.append((Rotation.from_matrix(turn.rotation) * true.inv()).as_rotvec())
        said = turn.covariance
    # 400 draws give a standard deviation to 3.5 %; three times that.
    assert np.std(turns, axis=0) == pytest.approx(np.sqrt(np.diag(said)), rel=0.11)


@pytest.mark.parametrize("missing", [0, 1])
def test_two_axes_are_enough(missing: int) -> None:
    true = Rotation.random(random_state=3)
    axes = measured(true, np.zeros((3, 3)))
    axes[missing] = np.nan
    turn = fit_turn(axes, NO_SCATTER, np.full((3, 3), 0.02))
    assert (Rotation.from_matrix(turn.rotation) * true.inv()).magnitude() < 1e-9


def test_lengths_of_axes_do_not_matter() -> None:
    axes = measured(Rotation.random(random_state=4), np.deg2rad([[1, 0, 2], [0, 3, 0], [1, 1, 0]]))
    one = fit_turn(axes, NO_SCATTER, np.full((3, 3), 0.02))
    other = fit_turn(axes * [[1.1], [0.9], [9.81]], NO_SCATTER, np.full((3, 3), 0.02))
    assert np.allclose(one.rotation, other.rotation)


@pytest.mark.parametrize(("y_deg", "z_deg"), [(1.0, 1.0), (0.4, 2.5), (3.0, 1.0)])
def test_chance_against_draws(y_deg: float, z_deg: float) -> None:
    rng = np.random.default_rng(5)
    spread = np.deg2rad([0.3, y_deg, z_deg])
    freedom = 6.0
    draws = rng.normal(0, 1, (200_000, 2)) * [y_deg, z_deg]
    draws /= np.sqrt(rng.chisquare(freedom, 200_000) / freedom)[:, None]
    expected = np.mean(np.hypot(*draws.T) < 3)
    # 200,000 draws give a share to 0.0011.
    assert chance_within(np.diag(spread**2), np.deg2rad(3), freedom=freedom) == pytest.approx(expected, abs=0.004)
