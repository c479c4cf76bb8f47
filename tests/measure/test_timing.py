"""Times of a shift that the lever shows: only where it was read often enough."""

import numpy as np
import pytest

from shiftlog.measure.scene import Scene
from shiftlog.measure.timing import measure_timing
from shiftlog.model.car import Car
from shiftlog.model.drive import Signals
from shiftlog.model.settings import Settings
from shiftlog.model.shift import Shift
from shiftlog.model.trace import Trace


def times(rate_hz: float) -> dict:
    """Readings of one clean shift of 0.4 s, of a lever read at this rate."""
    time = np.arange(0, 20, 1 / rate_hz)
    lever = Trace(
        time_s=time, values=np.zeros((time.size, 2)), spans=((0.0, time[-1]),), rate_hz=rate_hz, recording="lever",
        place="lever",
    )  # fmt: skip
    shift = Shift(
        number=1, from_gear="3", to_gear="2", start_s=10.0, out_s=10.1, in_s=10.3, end_s=10.4, seen_by="lever",
        outcome="clean",
    )  # fmt: skip
    car = Car(name="test car", gate=None)
    scene = Scene(signals=Signals(lever=lever), car=car, path=None, settings=Settings())
    return {r.key: r for r in measure_timing(shift, scene)}


@pytest.mark.parametrize("rate_hz", [48.0, 250.0])
def test_times_are_the_distances_of_the_instants(rate_hz: float) -> None:
    assert times(rate_hz)["shift_time_s"].value == pytest.approx(0.4)
    assert times(rate_hz)["neutral_time_s"].value == pytest.approx(0.2)


@pytest.mark.parametrize("rate_hz", [10.0, 20.0, 45.0])
def test_a_lever_read_too_slowly_gives_no_times_and_says_so(rate_hz: float) -> None:
    readings = times(rate_hz)
    assert set(readings) == {"shift_time_s", "neutral_time_s", "baulk_time_s", "approach_speed_mmps"}
    for reading in readings.values():
        assert reading.value is None and f"read {rate_hz:g} times a second" in reading.why
