"""drive.toml: what it says, where its files may lie, what is left out and why."""

from pathlib import Path

import numpy as np
import pytest

from shiftlog.errors import ProfileError
from shiftlog.ingest.drive_file import read_drive

CAR = '[car]\nname = "x"\n[gate]\nplanes = [{ forward = "1", rear = "2" }, { forward = "3", rear = "4" }]\n'
LEVER = '[[recording]]\nname = "lever"\nfile = "lever.csv"\nplace = "lever"\n'
BASE = '[car]\nprofile = "car.toml"\n'


@pytest.fixture
def folder(tmp_path) -> Path:
    drive = tmp_path / "warm-2"
    drive.mkdir()
    (drive / "car.toml").write_text(CAR)
    time = np.arange(500) / 250
    rows = [f"{t:.3f},{2000 + 200 * np.sin(t):.0f},{2100 + 90 * np.cos(3 * t):.0f}" for t in time]
    (drive / "lever.csv").write_text("\n".join(["time [s],select [count],engage [count]", *rows]))
    return drive


def drive_of(folder: Path, text: str, **options: object):
    (folder / "drive.toml").write_text(text, encoding="utf-8")
    return read_drive(folder, **options)


def test_the_head_of_a_drive(folder) -> None:
    text = """format = 1
[drive]
started = 2026-10-03T14:05:00+01:00
stage = "after"
driver = "B"
gearbox_temp_c = 78
cold = false
notes = "second run"
"""
    logs = drive_of(folder, text + BASE + LEVER + '[[test]]\nkind = "release"\nstart_s = 12\nend_s = 95.0\n')
    head = logs.head
    assert (head.id, head.stage, head.driver, head.cold) == ("warm-2", "after", "B", False)
    assert head.started == "2026-10-03T14:05:00+01:00"
    assert head.gearbox_temp_c == 78
    assert [(t.kind, t.start_s, t.end_s) for t in logs.tests] == [("release", 12.0, 95.0)]
    assert logs.notes == ()


def test_the_file_itself_may_be_named(folder) -> None:
    drive_of(folder, BASE + LEVER)
    assert read_drive(folder / "drive.toml").head.id == "warm-2"


def test_columns_are_mapped_with_unit_and_direction(folder) -> None:
    rows = ["millis;adc0;adc1;other", *(f"{i * 4};{500 + i % 50};{600 + i};x" for i in range(500))]
    (folder / "lever.csv").write_text("\n".join(rows))
    text = """[recording.columns]
time = { column = "millis", unit = "ms" }
select = { column = "adc0", unit = "count", grows = "left" }
engage = { column = "adc1", unit = "count" }
"""
    (recording,) = drive_of(folder, BASE + LEVER + text).recordings
    assert recording.time_s[-1] == pytest.approx(499 * 0.004)
    assert recording.channel("select").grows == "left"
    assert recording.channel("engage").grows is None
    assert recording.ignored == ("other",)


def test_a_profile_may_lie_one_folder_up(folder) -> None:
    (folder / "car.toml").rename(folder.parent / "shop.toml")
    assert drive_of(folder, '[car]\nprofile = "../shop.toml"\n' + LEVER).car.name == "x"


def test_no_car_is_pointed_out_and_no_fault(folder) -> None:
    logs = drive_of(folder, LEVER)
    assert logs.car.gate is None
    assert "names no car" in logs.notes[0]


def test_a_log_in_a_folder_below(folder) -> None:
    (folder / "logs").mkdir()
    (folder / "lever.csv").rename(folder / "logs" / "lever.csv")
    for name in ("logs/lever.csv", "logs\\\\lever.csv"):
        assert len(drive_of(folder, BASE + LEVER.replace("lever.csv", name)).recordings) == 1


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (BASE, "recording is missing"),
        ("recording = []\n" + BASE, "recording: there is none"),
        (BASE + LEVER.replace("lever.csv", "../lever.csv"), "leads out of the drive folder"),
        (BASE + LEVER.replace("lever.csv", "a/../../lever.csv"), "leads out of the drive folder"),
        (BASE + LEVER.replace("lever.csv", "/etc/passwd"), 'recording[1].file: "/etc/passwd" is absolute'),
        (BASE + LEVER.replace("lever.csv", "C:/log.csv"), "is absolute"),
        (BASE + LEVER.replace('place = "lever"', 'place = "roof"'), "recording[1].place: input should be 'lever'"),
        (BASE + LEVER + LEVER, 'the name "lever" is there twice'),
        (BASE + LEVER + "mounting = [[1,0],[0,1]]", "recording[1].mounting"),
        (BASE + LEVER + 'clock_offset_s = "x"', "recording[1].clock_offset_s"),
        (BASE + LEVER + '[recording.columns]\nspeed = { column = "v" }', "recording[1].columns.speed: is no channel"),
        (
            BASE + LEVER + '[recording.columns]\nselect = { unit = "V" }',
            "recording[1].columns.select.column is missing",
        ),
        (
            BASE + LEVER + '[recording.columns]\nselect = { column = "select", grows = "up" }',
            'select.grows: "up" is not known; it is "right" or "left"',
        ),
        (BASE + LEVER + '[[test]]\nkind = "release"\nstart_s = 5\nend_s = 4', "test[1].end_s: 4 is not after"),
        ('[car]\nprofile = "../../car.toml"\n' + LEVER, "car.profile"),
        ('[car]\nprofile = "gone.toml"\n' + LEVER, "car.profile: there is no file gone.toml"),
        ("[drive]\nid = 5\n" + LEVER, "drive.id: input should be a valid string, got 5"),
        ("x = [", "is no valid TOML"),
    ],
)
def test_what_is_wrong_is_said_in_one_line(folder, text: str, message: str) -> None:
    with pytest.raises(ProfileError) as error:
        drive_of(folder, text)
    assert message in str(error.value)
    assert str(error.value).startswith("drive.toml: ")
    assert "\n" not in str(error.value)


def test_a_link_out_of_the_folder_is_refused(folder, tmp_path) -> None:
    (folder / "lever.csv").rename(tmp_path / "elsewhere.csv")
    (folder / "lever.csv").symlink_to(tmp_path / "elsewhere.csv")
    with pytest.raises(ProfileError, match="is a link out of the drive folder"):
        drive_of(folder, BASE + LEVER)


def test_a_folder_without_drive_toml(tmp_path) -> None:
    with pytest.raises(ProfileError, match=r"drive.toml: there is no such file; name a"):
        read_drive(tmp_path)


def test_unknown_keys_are_pointed_out(folder) -> None:
    logs = drive_of(folder, 'weather = "wet"\n' + BASE + LEVER + "rate = 5\n")
    assert logs.notes == ("drive.toml: not known and left out: weather, recording[1].rate.",)
    assert len(logs.recordings) == 1


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (None, "gps.csv: there is no such file"),
        (b"", "gps.csv: is empty"),
        (b"time [s],vehicle_speed [furlong/h]\n0,1\n1,2\n", 'unit "furlong/h" is not known; known are s ms'),
        (b"time [s],vehicle_speed [rpm]\n0,1\n1,2\n", 'unit "rpm" does not fit this channel; it takes m/s km/h'),
        (b"time [s],vehicle_speed\n0,1\n1,2\n", "names no unit"),
        (b"time [s],vehicle_speed [m/s],vehicle_speed [km/h]\n0,1,1\n1,2,2\n", "the channel vehicle_speed twice"),
        (b"time [s],vehicle_speed [m/s]\n0,fast\n1,slow\n", 'gps.csv, row 2: "fast" in column vehicle_speed'),
    ],
)
def test_one_bad_log_is_left_out_with_one_line_and_the_rest_stays(folder, content, message: str) -> None:
    if content is not None:
        (folder / "gps.csv").write_bytes(content)
    logs = drive_of(folder, BASE + LEVER + '[[recording]]\nfile = "gps.csv"\nplace = "body"\n')
    assert [r.name for r in logs.recordings] == ["lever"]
    (left,) = logs.left_out
    assert (left.name, left.file) == ("gps", "gps.csv")
    assert message in left.why
    assert "\n" not in left.why


def test_a_mapped_column_that_is_not_there(folder) -> None:
    logs = drive_of(folder, BASE + LEVER + '[recording.columns]\nselect = { column = "adc0", unit = "count" }')
    assert 'lever.csv: has no column "adc0" for select; it has time [s], select' in logs.left_out[0].why


def test_a_lever_in_which_nothing_moves(folder) -> None:
    rng = np.random.default_rng(1)
    noise = rng.normal(0, 1.5, (2000, 2))
    rows = [f"{i * 0.004:.3f},{2000 + a:.0f},{2100 + b:.0f}" for i, (a, b) in enumerate(noise)]
    (folder / "lever.csv").write_text("\n".join(["time [s],select [count],engage [count]", *rows]))
    logs = drive_of(folder, BASE + LEVER)
    assert logs.recordings == ()
    assert "lever.csv: nothing moves in the lever log: select stays at 2000 count" in logs.left_out[0].why


def test_other_channels_of_a_still_lever_stay(folder) -> None:
    rows = [f"{i * 0.004:.3f},2000,2100,{i % 40}" for i in range(2000)]
    (folder / "lever.csv").write_text("\n".join(["time [s],select [count],engage [count],accel_x [m/s^2]", *rows]))
    (recording,) = drive_of(folder, BASE + LEVER).recordings
    assert [c.name for c in recording.channels] == ["accel_x"]
    assert "nothing moves in the lever log" in recording.history[-1]


def test_an_axis_of_a_motion_sensor_that_never_changes_is_taken_out_with_the_reason(folder) -> None:
    rows = [f"{i * 0.004:.3f},{i % 7},{i % 5},9.81" for i in range(2000)]
    head = "time [s],accel_x [m/s^2],accel_y [m/s^2],accel_z [m/s^2]"
    (folder / "lever.csv").write_text("\n".join([head, *rows]))
    (recording,) = drive_of(folder, BASE + LEVER).recordings
    assert [c.name for c in recording.channels] == ["accel_x", "accel_y"]
    assert recording.quality.stuck == ("accel_z",)
    assert "accel_z never changes in 8 s" in recording.history[-1]


def test_a_motion_sensor_of_which_nothing_changes_is_left_out(folder) -> None:
    rows = [f"{i * 0.004:.3f},0.1,0.2,9.81" for i in range(2000)]
    head = "time [s],accel_x [m/s^2],accel_y [m/s^2],accel_z [m/s^2]"
    (folder / "lever.csv").write_text("\n".join([head, *rows]))
    logs = drive_of(folder, BASE + LEVER)
    assert logs.recordings == ()
    assert "lever.csv: accel_x, accel_y, accel_z never change in 8 s" in logs.left_out[0].why


def test_progress_names_each_log_and_ends_at_one(folder) -> None:
    seen = []
    drive_of(folder, BASE + LEVER, progress=lambda name, share: seen.append((name, share)))
    assert seen == [("lever", 0.0), ("", 1.0)]
