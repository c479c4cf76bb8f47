"""Real logs that nobody here made, from bare files to signals on drive time.

Expected values are those of the logs' own README and SOURCE.txt, which stand beside them.
"""

from pathlib import Path

import numpy as np
import pytest

from shiftlog.align.place import place_recordings
from shiftlog.errors import LogError
from shiftlog.ingest.add import plan_drive, write_drive
from shiftlog.ingest.add_options import AddOptions
from shiftlog.ingest.drive_file import read_drive
from shiftlog.model.drive import Drive

pytestmark = pytest.mark.open_data

COMMUTE = (
    "2017-07-10_Seat_Leon_KA_KA_Stau.csv",
    "2017-07-11_Seat_Leon_KA_KA_Stau.csv",
    "2018-02-23_Seat_Leon_RT_RT_Frei_Beschleunigung.csv",
)


def added(logs: list[Path], folder: Path, **options: tuple[str, ...]) -> Drive:
    """The logs through the whole way: plan, folder, reading, placing."""
    plan = plan_drive(logs, None, options=AddOptions(**options))
    return place_recordings(read_drive(write_drive(plan, folder)))


@pytest.mark.parametrize("road", ["q1", "q2", "q3"])
def test_phone_on_three_roads(open_data, tmp_path, road: str) -> None:
    logs = sorted((open_data / "phone-roads").glob(f"rsq_{road}_*.csv"))
    drive = added(logs, tmp_path / "d")
    assert len(drive.placed) == len(logs)
    assert all(p.on_drive_time and p.recording.place == "body" for p in drive.placed)
    accel = drive.signals.accel["body"]
    # SOURCE.txt: 99.6 Hz, no gaps. README: gravity norm 9.79 to 9.87; each to its last digit.
    assert accel.rate_hz == pytest.approx(99.6, abs=0.05)
    assert len(accel.spans) == 1
    assert 9.785 < np.median(np.linalg.norm(accel.values, axis=1)) < 9.875
    # GPS at 1 Hz; -1 is its word for no speed yet.
    assert drive.signals.vehicle_speed.rate_hz == pytest.approx(1.0, abs=0.02)
    assert drive.signals.vehicle_speed.values.min() >= 0
    assert drive.signals.lever is None


@pytest.mark.parametrize("name", COMMUTE)
def test_commute_is_read_with_its_odd_degree_sign(open_data, tmp_path, name: str) -> None:
    drive = added([open_data / "obd-commute" / name], tmp_path / "d")
    (placed,) = drive.placed
    assert placed.recording.has("engine_speed", "vehicle_speed", "throttle", "ambient")
    assert placed.recording.channel("ambient").unit == "degC"
    speeds = drive.signals.engine_speed, drive.signals.vehicle_speed
    for trace in speeds:
        # README: a row every 0.09 s, each signal new only every 0.90 s; SOURCE.txt: 1.1 Hz.
        assert trace.rate_hz == pytest.approx(1 / 0.9, rel=0.1)
    # SOURCE.txt: engine speed is read about 0.09 s before vehicle speed, here and there a poll slips.
    after = np.searchsorted(speeds[1].time_s, speeds[0].time_s)
    lag = speeds[1].time_s[np.minimum(after, speeds[1].time_s.size - 1)] - speeds[0].time_s
    assert np.median(lag) == pytest.approx(0.09, abs=0.015)
    # Whole km/h.
    kmh = speeds[1].values * 3.6
    np.testing.assert_allclose(kmh, np.round(kmh), atol=1e-9)


def test_commute_of_the_eleventh_has_its_long_gap(open_data, tmp_path) -> None:
    drive = added([open_data / "obd-commute" / COMMUTE[1]], tmp_path / "d")
    gaps = np.array(drive.placed[0].recording.quality.gaps)
    # README: one 603.9 s gap.
    assert np.max(gaps[:, 1] - gaps[:, 0]) == pytest.approx(603.9, abs=0.05)
    assert len(drive.signals.engine_speed.spans) > 1


def test_track_day_with_its_mounting(open_data, tmp_path) -> None:
    log = open_data / "track-day" / "corrado_2021-03-28_10hz.csv"
    drive = added([log], tmp_path / "d", mounting=("y,-x,z",))
    (placed,) = drive.placed
    quality = placed.recording.quality
    assert quality.rate_hz == pytest.approx(10.0, rel=1e-3)
    assert quality.duration_s == pytest.approx(1652, abs=0.5)
    # README: one gap of 1.0 s.
    assert [round(b - a, 3) for a, b in quality.gaps] == [1.0]
    signals = drive.signals
    speed, accel = signals.vehicle_speed, signals.accel_vehicle["body"]
    assert speed.values.max() < 70
    # README: y is forward, r 0.977 with dv/dt; x lateral, r -0.989 with v times yaw rate; z up. Smoothing is ours,
    # so that only the sign and the strength are checked.
    smooth = np.ones(10) / 10
    rate = np.convolve(np.gradient(speed.values, speed.time_s), smooth, "same")
    forward, left, up = (np.convolve(axis, smooth, "same") for axis in accel.values.T)
    assert np.corrcoef(rate, forward)[0, 1] > 0.9
    yaw_rate = np.interp(speed.time_s, signals.yaw_rate.time_s, signals.yaw_rate.values)
    turning = np.convolve(speed.values * yaw_rate, smooth, "same")
    assert np.corrcoef(turning, left)[0, 1] > 0.95
    assert np.median(up) == pytest.approx(9.81, abs=0.3)
    assert any("tps_v looks like throttle, but V is no unit" in line for line in _lines(log))


def _lines(log: Path) -> tuple[str, ...]:
    return plan_drive([log], None).lines


def test_jittery_imu_asks_for_the_unit_of_its_speed(open_data) -> None:
    log = open_data / "jittery-imu" / "2014-03-26-000-Data.csv"
    with pytest.raises(LogError, match=r'column speed: names no unit; .* Say which, such as --unit "speed=km/h"'):
        plan_drive([log], None)


def test_jittery_imu_keeps_its_jitter_and_its_gaps(open_data, tmp_path) -> None:
    log = open_data / "jittery-imu" / "2014-03-26-000-Data.csv"
    drive = added([log], tmp_path / "d", unit=("speed=km/h",))
    recording = drive.placed[0].recording
    steps = np.diff(recording.time_s) * 1000
    # README: median 19.9 ms, 5 to 95 % 12.4 to 28.2 ms, 14 gaps over 60 ms, the longest 105 ms; last digits.
    assert np.median(steps) == pytest.approx(19.9, abs=0.05)
    assert np.percentile(steps, (5, 95)) == pytest.approx((12.4, 28.2), abs=0.05)
    assert np.count_nonzero(steps > 60) == 14
    assert np.max(steps) == pytest.approx(105, abs=0.5)
    # README: 216 s; SOURCE.txt: 10800 rows. Jitter is no missing sample: the rate is rows over time.
    assert recording.quality.rate_hz == pytest.approx(10800 / 216, rel=0.01)
    # README: mean vector 9.78 m/s^2.
    accel = drive.signals.accel["body"]
    assert np.linalg.norm(accel.values.mean(axis=0)) == pytest.approx(9.78, abs=0.01)
    # SOURCE.txt: speed at 10 Hz, repeated between.
    assert drive.signals.vehicle_speed.rate_hz == pytest.approx(10, rel=0.05)
