"""From bare logs to a drive folder: what is understood, asked, written and read back."""

import tomllib
from pathlib import Path

import numpy as np
import pytest

from shiftlog.align.place import place_recordings
from shiftlog.errors import DriveError, LogError, ProfileError
from shiftlog.ingest.add import plan_drive, write_drive
from shiftlog.ingest.add_options import AddOptions
from shiftlog.ingest.drive_file import read_drive
from shiftlog.model.drive import DriveHead

CAR = '[car]\nname = "x"\n[gate]\nplanes = [{ forward = "1", rear = "2" }, { forward = "3", rear = "4" }]\n'


@pytest.fixture
def logs(tmp_path) -> Path:
    """A folder with a lever log, a phone's two files and a car."""
    rng = np.random.default_rng(2)
    time = np.arange(1000) / 250
    lever = [f"{1000 * t:.0f},{500 + 100 * np.sin(t):.0f},{600 + 90 * np.cos(3 * t):.0f},9" for t in time]
    save(tmp_path, "lever.csv", "millis,adc0,adc1,spare", lever)
    accel = rng.normal((0, 0, 9.81), 0.3, (400, 3))
    save(tmp_path, "run1_Accelerometer.csv", '"Time (s)","X (m/s^2)","Y (m/s^2)","Z (m/s^2)"', numbers(accel))
    save(tmp_path, "run1_Gyroscope.csv", '"Time (s)","X (rad/s)","Y (rad/s)","Z (rad/s)"', numbers(accel / 50))
    (tmp_path / "car.toml").write_text(CAR)
    return tmp_path


def save(folder: Path, name: str, header: str, rows: list[str]) -> Path:
    path = folder / name
    path.write_text("\n".join([header, *rows]), encoding="utf-8")
    return path


def numbers(values: np.ndarray) -> list[str]:
    return [f"{i * 0.01:.2f}," + ",".join(f"{v:.4f}" for v in row) for i, row in enumerate(values)]


LEVER = AddOptions(column=("adc0=select:count", "adc1=engage:count"), grows=("select=right", "engage=forward"))


def test_a_whole_drive_is_planned_written_and_read_back(logs, tmp_path) -> None:
    files = [logs / n for n in ("lever.csv", "run1_Accelerometer.csv", "run1_Gyroscope.csv")]
    options = AddOptions(
        column=("lever.csv::adc0=select:count", "lever.csv::adc1=engage:count"),
        grows=("lever.csv::select=right",),
        clock=("box",),
        mounting=("run1_Accelerometer.csv=y,-x,z",),
    )
    head = DriveHead(id="", stage="before", driver="B")
    plan = plan_drive(files, logs / "car.toml", head=head, options=options)
    folder = write_drive(plan, tmp_path / "drives" / "cold-1")
    assert (folder / "lever.csv").read_bytes() == (logs / "lever.csv").read_bytes()
    drive = read_drive(folder)
    assert (drive.head.id, drive.head.stage, drive.head.driver, drive.car.name) == ("cold-1", "before", "B", "x")
    assert [(r.place, r.clock) for r in drive.recordings] == [("lever", "box"), ("body", "box"), ("body", "box")]
    lever = drive.recordings[0]
    assert lever.channel("select").grows == "right"
    assert lever.time_s[-1] == pytest.approx(999 * 0.004)
    placed = place_recordings(drive)
    assert all(p.on_drive_time for p in placed.placed)
    assert list(placed.signals.accel_vehicle) == ["body"]


def test_headers_in_the_format_need_no_mapping(tmp_path) -> None:
    rows = [f"{i * 0.01:.2f},{i % 90},{1000 + i}" for i in range(300)]
    log = save(tmp_path, "can.csv", "time [s],vehicle_speed [km/h],engine_speed [rpm]", rows)
    folder = write_drive(plan_drive([log], None), tmp_path / "d")
    assert "columns" not in tomllib.loads((folder / "drive.toml").read_text())["recording"][0]
    assert read_drive(folder).recordings[0].place == "engine"


def test_the_lines_say_what_was_understood_and_left(logs) -> None:
    plan = plan_drive([logs / "lever.csv"], logs / "car.toml", options=LEVER)
    text = "\n".join(plan.lines)
    assert "Car: x." in text
    assert "select from adc0 (count)" in text
    assert "1000 samples, 4.0 s at 250 Hz" in text
    assert "left out, as they are no channel: spare." in text
    assert "taken to be at the lever" in text


def test_files_of_one_phone_share_a_clock_and_it_is_said(logs) -> None:
    files = [logs / "run1_Accelerometer.csv", logs / "run1_Gyroscope.csv"]
    plan = plan_drive(files, None)
    assert {r.clock for r in plan.recordings} == {"run1"}
    assert any('shares the clock "run1"' in line for line in plan.lines)


def test_other_files_keep_their_own_clock(logs) -> None:
    plan = plan_drive([logs / "run1_Accelerometer.csv", logs / "lever.csv"], None, options=LEVER_ONLY)
    assert {r.clock for r in plan.recordings} == {None}
    assert plan.lines[-1].startswith("Clocks: run1_Accelerometer, lever.")
    assert "matched by what the logs share" in plan.lines[-1]


LEVER_ONLY = AddOptions(column=("lever.csv::adc0=select:count", "lever.csv::adc1=engage:count"))


@pytest.mark.parametrize(
    ("header", "row", "message"),
    [
        (
            "time_s,speed",
            "{t},{i}",
            'column speed: names no unit; it may be in km/h or m/s or mph. .*--unit "speed=km/h"',
        ),
        (
            "time_s,gps_speed_ms,Vehicle Speed [km/h]",
            "{t},{i},{i}",
            "the channel vehicle_speed twice, in gps_speed_ms and",
        ),
        ("time_s,x,y,z", "{t},{i},{i},{i}", 'column x: may be accel_x or gyro_x. Say --column "x=accel_x"'),
        ("time_s,gx,gy,gz", "{t},0.1,0.2,0.{i}", "column gx: may be accel_x or gyro_x"),
        ("time_s,ax,ay,az", "{t},{i},3,3", "column ax: names no unit; it may be in m/s\\^2 or g"),
        ("time_s,yawrate", "{t},0.{i}", "column yawrate: names no unit; it may be in deg/s or rad/s"),
        ("time_s,speed [furlong]", "{t},{i}", 'unit "furlong" is not known; known are s ms'),
        ("time,rpm", "{i},{i}", 'column time: names no unit; it may be in s or ms. .*--unit "time=s"'),
        ("time_s,adc0", "{t},{i}", "no channel recognised"),
        ("rpm,adc0", "{t},{i}", "no time column found"),
    ],
)
def test_two_readings_are_asked_for_with_the_option_that_settles_it(tmp_path, header, row, message) -> None:
    rows = [row.format(t=i * 0.01, i=i) for i in range(1, 2500)]
    with pytest.raises(LogError, match=message) as error:
        plan_drive([save(tmp_path, "log.csv", header, rows)], None)
    assert str(error.value).startswith("log.csv")
    assert "\n" not in str(error.value)


def test_the_option_that_was_named_settles_it(tmp_path) -> None:
    rows = [f"{i * 0.01:.2f},{i},{i * 2}" for i in range(300)]
    log = save(tmp_path, "log.csv", "time_s,gps_speed_ms,Vehicle Speed [km/h]", rows)
    plan = plan_drive([log], None, options=AddOptions(column=("Vehicle Speed [km/h]=vehicle_speed",)))
    (wish,) = [w for w in plan.recordings[0].wishes if w.channel == "vehicle_speed"]
    assert (wish.column, wish.unit) == ("Vehicle Speed [km/h]", "km/h")
    log = save(tmp_path, "other.csv", "time_s,speed", [row.rsplit(",", 1)[0] for row in rows])
    for options in (AddOptions(unit=("speed=mph",)), AddOptions(column=("speed=vehicle_speed:mph",))):
        (_, wish) = plan_drive([log], None, options=options).recordings[0].wishes
        assert (wish.channel, wish.unit) == ("vehicle_speed", "mph")


@pytest.mark.parametrize("scale", [1.0, 1 / 9.80665, 1000 / 9.80665])
def test_gravity_tells_the_unit_of_acceleration(tmp_path, scale: float) -> None:
    values = np.random.default_rng(4).normal((1, -2, 9.5), 0.4, (500, 3))
    log = save(tmp_path, "imu.csv", "time_s,ax,ay,az", numbers(values * scale))
    drive = read_drive(write_drive(plan_drive([log], None), tmp_path / "d"))
    np.testing.assert_allclose(drive.recordings[0].values, values, atol=1e-3)


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (AddOptions(place=("lever.csv=roof",)), "--place roof: is no place; places are lever, tower"),
        (AddOptions(place=("other.csv=body",)), "other.csv: an option names this file, and the logs are lever.csv"),
        (AddOptions(column=("adc9=select",)), 'has no column "adc9"; it has millis, adc0'),
        (AddOptions(column=("adc0=gearstick",)), "gearstick is no channel; channels are time"),
        (AddOptions(column=("adc0",)), "write it as NAME=VALUE"),
        (AddOptions(grows=("select=up",)), "write select=right or left"),
        (AddOptions(offset=("lever.csv=soon",)), "is no number of seconds"),
        (AddOptions(mounting=("x,y,-z",)), "write the sensor axes that point forward, left and up"),
        (AddOptions(mounting=("x,y",)), "write the sensor axes"),
    ],
)
def test_an_option_that_cannot_be_read_is_named(logs, options: AddOptions, message: str) -> None:
    with pytest.raises(LogError, match=message):
        plan_drive([logs / "lever.csv"], None, options=options)


def test_nothing_is_written_over_what_is_there(logs, tmp_path) -> None:
    plan = plan_drive([logs / "lever.csv"], None, options=LEVER)
    (tmp_path / "d").mkdir()
    (tmp_path / "d" / "note.txt").write_text("mine")
    with pytest.raises(DriveError, match="is there already"):
        write_drive(plan, tmp_path / "d")
    assert [p.name for p in (tmp_path / "d").iterdir()] == ["note.txt"]


def test_a_folder_appears_whole_or_not_at_all(logs, tmp_path) -> None:
    plan = plan_drive([logs / "lever.csv"], None, options=LEVER)
    (logs / "lever.csv").unlink()
    target = tmp_path / "drives" / "d"
    with pytest.raises(OSError):
        write_drive(plan, target)
    assert list(target.parent.iterdir()) == []


def test_two_logs_of_one_name(logs, tmp_path) -> None:
    (tmp_path / "b").mkdir()
    other = save(tmp_path / "b", "can.csv", "time_s,rpm", [f"{i * 0.1:.1f},{800 + i}" for i in range(200)])
    first = save(tmp_path, "can.csv", "time_s,gps_speed_ms", [f"{i * 0.1:.1f},{i % 30}" for i in range(200)])
    folder = write_drive(plan_drive([first, other], None), tmp_path / "d")
    assert sorted(p.name for p in folder.iterdir()) == ["can-2.csv", "can.csv", "drive.toml"]
    assert [r.name for r in read_drive(folder).recordings] == ["can", "can-2"]


def test_a_wrong_car_is_a_profile_error(logs) -> None:
    (logs / "car.toml").write_text("[car]\n")
    with pytest.raises(ProfileError, match="car.name is missing"):
        plan_drive([logs / "lever.csv"], logs / "car.toml", options=LEVER)


def test_one_bad_log_is_left_out_and_the_others_make_the_drive(tmp_path) -> None:
    good, bad = tmp_path / "lever.csv", tmp_path / "empty.csv"
    rows = "\n".join(f"{k / 100:.2f},{500 + k % 40},{300 + k % 30}" for k in range(400))
    good.write_text(f"time [s],select [count],engage [count]\n{rows}\n")
    bad.write_text("")
    plan = plan_drive([good, bad], None)
    assert [p.file for p in plan.recordings] == ["lever.csv"]
    assert [item.file for item in plan.left_out] == ["empty.csv"] and "empty.csv" in plan.left_out[0].why
    with pytest.raises(LogError, match="empty.csv"):
        plan_drive([bad], None)


def test_a_trace_of_can_frames_is_named_as_such(tmp_path) -> None:
    trace = tmp_path / "trace.log"
    trace.write_text("(1700000000.000001) can0 140#0006A04300000F81\n(1700000000.010001) can0 141#B42710279BC32702\n")
    with pytest.raises(LogError, match="CAN frames"):
        plan_drive([trace], None)


def test_two_columns_of_one_header_ask_for_a_copy(tmp_path) -> None:
    log = tmp_path / "lever.csv"
    log.write_text("time [s],select [count],select [count]\n" + "\n".join(f"{k / 100},1,2" for k in range(200)))
    with pytest.raises(LogError, match="both headed select"):
        plan_drive([log], None)


def test_an_offset_that_is_no_number_is_refused(tmp_path) -> None:
    log = tmp_path / "lever.csv"
    log.write_text("time [s],select [count],engage [count]\n" + "\n".join(f"{k / 100},1,2" for k in range(200)))
    with pytest.raises(LogError, match="--offset nan"):
        plan_drive([log], None, options=AddOptions(offset=("nan",)))


def test_a_column_given_to_a_channel_keeps_the_unit_of_its_header(tmp_path) -> None:
    rows = [f"{i * 0.02:.2f},{800 + i},{i * 0.1:.1f}" for i in range(200)]
    log = save(tmp_path, "bus.csv", "time [s],EngSpd [rpm],VehSpd [km/h]", rows)
    given = AddOptions(column=("EngSpd=engine_speed", "VehSpd=vehicle_speed"))
    plan = plan_drive([log], None, options=given)
    assert {wish.channel: wish.unit for wish in plan.recordings[0].wishes} == {
        "engine_speed": "rpm",
        "vehicle_speed": "km/h",
    }


def test_a_log_without_a_channel_names_its_columns(tmp_path) -> None:
    log = save(tmp_path, "bus.csv", "time [s],EngSpd [rpm]", [f"{i * 0.02:.2f},{800 + i}" for i in range(200)])
    with pytest.raises(LogError, match=r"no channel recognised among its columns time \[s\], EngSpd \[rpm\]"):
        plan_drive([log], None)
