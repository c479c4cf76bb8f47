"""Shifts from acceleration alone where engine speed says which were real (shared data, folder track-day; SOURCE.txt).

The only real log with truth for a phone alone. It was taken at 10 Hz, which is too slow for the swing of the driveline,
so it is drawn through to 50 Hz here; a race car on kerbs is also rougher than any road.
"""

from pathlib import Path

import numpy as np
import pytest

from shiftlog.detect.phone_shifts import find_accel_shifts
from shiftlog.ingest.add_options import AddOptions
from shiftlog.model.car import Car
from shiftlog.model.drive import Signals
from shiftlog.model.settings import Settings
from shiftlog.model.trace import Trace
from shiftlog.units import STANDARD_GRAVITY_MPS2

pytestmark = pytest.mark.open_data

LOG = "corrado_2021-03-28_10hz.csv"
NEAR_S = 0.7
PULLING_MPS2 = 0.5


def trace(time_s: np.ndarray, values: np.ndarray, rate_hz: float) -> Trace:
    spans = ((float(time_s[0]), float(time_s[-1])),)
    return Trace(time_s=time_s, values=values, spans=spans, rate_hz=rate_hz, recording="log", place="body")


@pytest.fixture(scope="module")
def felt(open_data: Path) -> Signals:
    log = np.genfromtxt(open_data / "track-day" / LOG, delimiter=",", names=True)
    time_s = np.arange(log["time_s"][0], log["time_s"][-1], 0.02)
    # y is forward, x to the right and z up (README of the data).
    axes = [
        np.interp(time_s, log["time_s"], sign * log[name]) for name, sign in (("ay_g", 1), ("ax_g", -1), ("az_g", 1))
    ]
    speed = trace(log["time_s"], np.maximum(log["gps_speed_ms"], 0.0), 10.0)
    return Signals(
        accel_vehicle={"body": trace(time_s, STANDARD_GRAVITY_MPS2 * np.column_stack(axes), 50.0)}, vehicle_speed=speed
    )


@pytest.fixture(scope="module")
def upshifts(open_data: Path, measure, felt: Signals) -> np.ndarray:
    """Starts of upshifts under drive, as engine and vehicle speed tell them."""
    result = measure([open_data / "track-day" / LOG], "12345R", AddOptions(mounting=("y,-x,z",)))
    body = felt.accel_vehicle["body"]
    starts = [s.start_s + result.clock_zero_s for s in result.shifts if "N" not in (s.from_gear, s.to_gear)
              and s.from_gear < s.to_gear]  # fmt: skip
    pulled = [body.values[(body.time_s > s - 0.7) & (body.time_s < s - 0.1), 0].mean() for s in starts]
    return np.array(starts)[np.array(pulled) > PULLING_MPS2]


def test_half_of_the_upshifts_under_drive_are_felt_and_few_by_chance(felt: Signals, upshifts: np.ndarray) -> None:
    assert len(upshifts) >= 70
    shifts = find_accel_shifts(felt, Car(name="unknown", gate=None), Settings()).shifts
    starts = np.array([s.start_s for s in shifts])

    def found(moved_s: float) -> float:
        return float(np.mean([np.abs(starts - s - moved_s).min() < NEAR_S for s in upshifts]))

    # Found: a half. Claims laid anywhere, 120 of them in 1,652 s, would be near a tenth of upshifts.
    assert found(0.0) >= 0.4
    assert np.mean([found(moved_s) for moved_s in (-15.0, -9.0, 9.0, 15.0)]) <= 0.2
