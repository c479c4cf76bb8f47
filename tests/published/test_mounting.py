"""Axes, gravity and rotations against published conventions and an independent implementation."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from shiftlog.align.mounting import declared_mountings, find_mountings
from shiftlog.model.drive import Mounting
from shiftlog.signal.axis_turn import fit_turn
from shiftlog.signal.gravity import normal_gravity
from shiftlog.signal.rotate import nearest_rotation, rotate
from tests.made_recording import make_recording
from tests.truth.mounting_drives import placed_as

G = 9.8
# W3C Device Orientation Event specification, worked examples of DeviceMotionEvent (index.bs): x to the right of the
# screen, y to its top, z out of it; rotationRate gamma turns about y. In a vehicle, screen upright and facing its
# rear: x is the car's right, y its up, z its rear.
W3C_IN_CAR = np.array([[0.0, 0.0, -1.0], [-1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])
# ISO 8855:2011 has y to the left and z up, SAE J670e y to the right and z down.
ISO_TO_SAE = np.diag([1.0, -1.0, -1.0])


@pytest.mark.parametrize(
    ("latitude_deg", "gravity"),
    # WGS-84, values computed from the formula's published constants; the pole also published: 9.8321849378. Tolerance:
    # the last digit given.
    [(0, 9.7803253), (30, 9.7932473), (45, 9.8061978), (51.5, 9.8120336), (60, 9.8191770), (90, 9.8321849)],
)
def test_normal_gravity(latitude_deg: float, gravity: float) -> None:
    assert normal_gravity(latitude_deg) == pytest.approx(gravity, abs=1e-6)


def test_gravity_at_the_pole_as_published() -> None:
    assert normal_gravity(90) == pytest.approx(9.8321849378, abs=1e-8)


def drive_with(turn: np.ndarray) -> Mounting:
    """What is found of a sensor whose axes lie so (vehicle = turn · sensor), in a car that drives about."""
    time_s = np.arange(0, 300, 0.05)
    speed = np.clip(12 + 9 * np.sin(time_s / 9) + 4 * np.sin(time_s / 3.7), 0, None)
    across = 2.5 * np.sin(time_s / 5.3) * (speed > 3)
    along, yaw = np.gradient(speed, time_s), across / np.maximum(speed, 1)
    force = np.column_stack([along, across, np.full(time_s.size, G)]) @ turn
    turning = np.column_stack([0 * yaw, 0 * yaw, yaw]) @ turn
    columns = {f"accel_{a}": force[:, k] for k, a in enumerate("xyz")}
    columns |= {f"gyro_{a}": turning[:, k] for k, a in enumerate("xyz")}
    item = placed_as(make_recording("phone", time_s, columns | {"vehicle_speed": speed}))
    return find_mountings((item,), declared_mountings((item.recording,)))["phone"].mounting


def test_w3c_flat_with_the_screen_up_gravity_reads_up_on_z() -> None:
    found = drive_with(np.eye(3))
    assert rotate(np.array([[0.0, 0.0, G]]), found.rotation)[0] == pytest.approx([0, 0, G], abs=0.1)


def test_w3c_upright_in_a_car_a_right_hand_bend_pulls_to_the_right() -> None:
    found = drive_with(W3C_IN_CAR)
    assert np.allclose(found.rotation, W3C_IN_CAR, atol=0.02)
    v, r = 20.0, 100.0
    felt = rotate(np.array([[v**2 / r, G, 0.0]]), found.rotation)[0]
    assert felt == pytest.approx([0, -(v**2) / r, G], abs=0.2)
    gamma = -v / r
    assert rotate(np.array([[0.0, gamma, 0.0]]), found.rotation)[0] == pytest.approx([0, 0, -v / r], abs=0.01)


def test_w3c_free_fall_has_no_up_and_so_no_mounting() -> None:
    time_s = np.arange(0, 120, 0.05)
    columns = {f"accel_{a}": np.random.default_rng(0).normal(0, 1e-3, time_s.size) for a in "xyz"}
    item = placed_as(make_recording("phone", time_s, columns))
    assert find_mountings((item,), declared_mountings((item.recording,)))["phone"].mounting.rotation is None


def test_w3c_at_rest_the_supporting_force_points_up_whatever_the_pose() -> None:
    for turn in Rotation.random(3, random_state=11).as_matrix():
        found = drive_with(turn)
        assert rotate((np.array([[0, 0, G]]) @ turn), found.rotation)[0] == pytest.approx([0, 0, G], abs=0.1)


def test_iso_8855_against_sae_j670() -> None:
    found = drive_with(ISO_TO_SAE)
    assert np.allclose(found.rotation, ISO_TO_SAE, atol=0.02)
    assert np.linalg.det(ISO_TO_SAE) == pytest.approx(1.0)


def test_nearest_rotation_is_what_scipy_aligns() -> None:
    rng = np.random.default_rng(2)
    for true in Rotation.random(20, random_state=4):
        seen = true.inv().apply(np.eye(3)) + rng.normal(0, 0.05, (3, 3))
        expected, _ = Rotation.align_vectors(np.eye(3), seen)
        # Both solve Wahba's problem with equal weights by an SVD: equal but for rounding.
        assert np.allclose(nearest_rotation(seen), expected.as_matrix(), atol=1e-9)


def test_the_turn_with_equal_doubts_is_what_scipy_aligns() -> None:
    rng = np.random.default_rng(3)
    for true in Rotation.random(20, random_state=5):
        axes = true.inv().apply(np.eye(3)) + rng.normal(0, 0.01, (3, 3))
        axes /= np.linalg.norm(axes, axis=1, keepdims=True)
        turn = fit_turn(axes, np.zeros((3, 3, 3, 3)), np.full((3, 3), 0.01))
        expected, _ = Rotation.align_vectors(np.eye(3), axes)
        # Small-angle residuals against chords: they differ in the second order of 0.01 rad.
        assert np.rad2deg((Rotation.from_matrix(turn.rotation) * expected.inv()).magnitude()) < 0.02


def test_the_turn_weighs_axes_as_scipy_does() -> None:
    axes = Rotation.from_euler("zyx", [30, -10, 50], degrees=True).inv().apply(np.eye(3))
    axes[0] = Rotation.from_rotvec([0, 0, 0.04]).apply(axes[0])
    sigma = np.array([0.03, 0.01, 0.01])
    turn = fit_turn(axes, np.zeros((3, 3, 3, 3)), np.repeat(sigma[:, None], 3, axis=1))
    expected, _ = Rotation.align_vectors(np.eye(3), axes, weights=1 / sigma**2)
    assert np.rad2deg((Rotation.from_matrix(turn.rotation) * expected.inv()).magnitude()) < 0.05
