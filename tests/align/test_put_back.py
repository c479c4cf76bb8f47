"""A sensor that was put back the other way round half-way through the drive: each half is told by itself."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from shiftlog.model.drive import Mounting, Placed
from tests.align.test_mounting import TIME_S, TURNS, a_course, find, off_deg, placed

TURN = TURNS[2]
BACK = np.diag([-1.0, -1.0, 1.0]) @ TURN


def put_back(make, *, speed: bool = True, gyro: bool = True, **columns: np.ndarray) -> Placed:
    """The two halves of the drive change as much as one another, so that opposite slopes cancel."""
    course = a_course()
    half = TIME_S.size // 2
    course = {k: np.concatenate([v[:half], v[:half]]) for k, v in course.items()}
    later = np.arange(TIME_S.size) >= half
    for name, felt in (("accel", course["force"]), ("gyro", course["turning"])):
        if name == "accel" or gyro:
            turned = np.where(later[:, None], felt @ BACK, felt @ TURN)
            columns |= {f"{name}_{axis}": turned[:, k] for k, axis in enumerate("xyz")}
    if speed:
        columns.setdefault("vehicle_speed", course["speed"])
    return placed(make("phone", TIME_S, columns))


def both_right(found: Mounting, within_deg: float = 3.0) -> None:
    assert off_deg(found, TURN) < within_deg
    ((from_s, rotation),) = found.later
    assert from_s == found.slipped_at_s == pytest.approx(180, abs=25)
    assert np.rad2deg(Rotation.from_matrix(rotation @ BACK.T).magnitude()) < within_deg


@pytest.mark.parametrize("gyro", [True, False])
def test_by_speed_that_cancels_over_the_whole(make, gyro: bool) -> None:
    found = find(put_back(make, gyro=gyro))["phone"]
    assert found.how == "gravity and speed" and "180°" in found.why
    # Without a gyro nothing tells bends as long as the changes of speed from forward: its own doubt counts.
    both_right(found, 3.0 if gyro else 2 * found.uncertainty_deg)


def test_by_the_side_to_which_bends_pull(make) -> None:
    found = find(put_back(make, speed=False))["phone"]
    assert found.how == "gravity and yaw rate"
    both_right(found)


def test_stops_to_both_sides_tell_no_forward(make) -> None:
    found = find(put_back(make, speed=False, gyro=False))["phone"]
    assert found.rotation is None and "the other way round" in found.why


def test_a_speed_that_goes_with_nothing_felt_leaves_the_rest_unsure(make) -> None:
    course = a_course()
    columns = {"vehicle_speed": 12 + 5 * np.sin(2 * np.pi * TIME_S / 41)}
    for name, felt in (("accel", course["force"]), ("gyro", course["turning"])):
        columns |= {f"{name}_{axis}": (felt @ TURN)[:, k] for k, axis in enumerate("xyz")}
    found = find(placed(make("phone", TIME_S, columns)))["phone"]
    assert found.how == "gravity and yaw rate" and off_deg(found, TURN) < 2.0
    assert found.confidence <= 0.75 and "vehicle speed of phone" in found.why
