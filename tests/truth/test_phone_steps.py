"""What can be felt of a change of gear is read from the true drive and from what the phone's log adds to it."""

import numpy as np
import pytest

from shiftlog.model.trace import Trace
from tests.truth.phone_steps import Course, lay_course
from tests.truth.phone_truth import Event

STEP_S = 0.01
TIME_S = np.arange(0, 20, STEP_S)


def course(shaking: np.ndarray | float = 0.0) -> Course:
    """Engine braking of 0.5 m/s² that the clutch takes away from 10 to 10.6 s, and 0.8 m/s² in the lower gear."""
    drive = np.select([TIME_S < 10.0, TIME_S < 10.6], [-0.5, 0.0], default=-0.8)
    felt = drive - 2.0 * (TIME_S > 9.0)
    logged = np.column_stack([felt + shaking, 0 * felt, 9.81 + 0 * felt])
    body = Trace(time_s=TIME_S, values=logged, spans=((0.0, 20.0),), rate_hz=100.0, recording="phone", place="body")
    return lay_course(TIME_S, drive, felt, body)


def event(step: float, shaking: float) -> Event:
    return Event(open_s=9.9, start_s=10.1, end_s=10.5, kind="brakes", gap=None, step_mps2=step, shaking_mps2=shaking)


def test_the_lesser_step_of_drive_counts_and_brakes_are_left_out() -> None:
    step, shaking = course().steps_of(9.9, 10.1, 10.5)
    assert step == pytest.approx(0.5)
    assert shaking == pytest.approx(0.0, abs=1e-9)


def test_shaking_is_what_the_road_adds_below_three_hertz() -> None:
    # A sine of 1 m/s² has a standard deviation of 0.707; at 1 Hz the filter leaves 0.988, squared for both ways, of
    # it, at 12 Hz 0.004 (Butterworth, N = 2 at 3 Hz: 1/(1 + (f/3)^4)).
    assert course(np.sin(2 * np.pi * TIME_S)).steps_of(9.9, 10.1, 10.5)[1] == pytest.approx(0.70, abs=0.03)
    assert course(np.sin(24 * np.pi * TIME_S)).steps_of(9.9, 10.1, 10.5)[1] < 0.01


def test_clear_is_what_is_large_enough_and_stands_out() -> None:
    assert event(0.5, 0.1).clear
    assert not event(0.5, 0.3).clear
    assert not event(0.2, 0.05).clear
