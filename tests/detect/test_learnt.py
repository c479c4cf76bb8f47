"""Engine speed over vehicle speed, learnt from the stays between shifts."""

import numpy as np
import pytest

from shiftlog.detect.learnt import learn_from_lever
from shiftlog.model.drive import Signals
from shiftlog.model.shift import Shift
from shiftlog.model.trace import Trace

TIME_S = np.arange(0, 60, 0.1)


def trace(values: np.ndarray) -> Trace:
    return Trace(time_s=TIME_S, values=values, spans=((0.0, 59.9),), rate_hz=10.0, recording="bus", place="engine")


def drive(rpm_per_mps: float) -> Signals:
    speed = 10.0 + np.sin(TIME_S)
    return Signals(engine_speed=trace(rpm_per_mps * speed), vehicle_speed=trace(speed))


def test_a_drive_without_a_shift_teaches_nothing() -> None:
    assert learn_from_lever(drive(120.0), []) == {}


def test_a_stay_teaches_its_gear() -> None:
    shift = Shift(
        number=1, from_gear="2", to_gear="3", start_s=5.0, end_s=5.4, seen_by="lever", outcome="clean", standing=False
    )
    assert learn_from_lever(drive(120.0), [shift]) == {"3": pytest.approx(120.0, rel=1e-3)}
