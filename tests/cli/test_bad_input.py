"""Everything that can be wrong with what is given: one line that says where and what would be right, and exit 2."""

import pytest

from .conftest import CAR, LEVER, lever_rows

STILL = [f"{k / 200:.4f},512,512" for k in range(4000)]
SELECT_IS_TEXT = [f"{row.split(',')[0]},abc,{row.split(',')[2]}" for row in lever_rows()]
TWO_PLANES = CAR.replace(', { forward = "5", rear = "R" }', "")

# What is made, and the words the line must hold: file, row or key first, the mend last.
BAD = {
    "a missing file": ({"recordings": LEVER.replace("lever.csv", "nobody.csv")}, ("nobody.csv", "mend the name")),
    "an unknown unit": (
        {"header": "time [s],select [furlong],engage [count]"},
        ("lever.csv", "column select [furlong]", '"furlong" is not known', "known are", "count", "mm"),
    ),
    "a channel twice": (
        {"header": "time [s],select [count],select [count]"},
        ("lever.csv", "the channel select twice", "[recording.columns]"),
    ),
    "an empty file": ({"rows": [], "header": ""}, ("lever.csv", "is empty", "Record it again")),
    "one row": ({"rows": ["0,512,512"]}, ("lever.csv", "one row", "Record it again")),
    "a text where a number should be": (
        {"rows": SELECT_IS_TEXT},
        ("lever.csv, row 2", '"abc" in column select [count]', "where a number should be", "Mend the column"),
    ),
    "texts in every column of numbers": ({"rows": [f"{k / 200:.4f},a,b" for k in range(400)]}, ("lever.csv",)),
    "a profile without a gear that the lever shows": (
        {"car": TWO_PLANES},
        ("car.toml, [gate] planes", "+25 mm across the gate", "(1-2, 3-4, left to right)", "add that gear"),
    ),
    "a lever in which nothing moves": (
        {"rows": STILL}, ("lever.csv", "nothing moves", "select stays at 512 count", "Check the sensor's lead"),
    ),
    "a profile that is no TOML": ({"car": "format = = 1"}, ("car.toml", "no valid TOML", "line 1")),
    "a home plane the gate lacks": (
        {"car": CAR.replace('home = "3-4"', 'home = "7-8"')}, ("car.toml: gate.home", '"7-8"', "1-2, 3-4, 5-R"),
    ),
    "a place nobody knows": (
        {"recordings": LEVER.replace('"lever"\n', '"roof"\n')}, ("drive.toml: recording[1].place", "gearbox", "'roof'"),
    ),
    "a redline in words": (
        {"car": CAR.replace("7000", '"high"')}, ("car.toml: car.redline_rpm", "'high'"),
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", BAD)
def test_one_line_says_where_and_what_would_be_right(run, make_drive, name):
    made, words = BAD[name]
    said = run("measure", make_drive(**made))
    assert (said.returncode, said.stdout) == (2, ""), said.stderr
    line = only_line(said)
    assert [word for word in words if word not in line] == []
    assert "fault of shiftlog itself" not in line


@pytest.mark.parametrize("command", ["check", "measure"])
def test_two_recordings_that_do_not_overlap(run, make_drive, command):
    drive = make_drive(recordings=f'{LEVER}clock = "logger"\n{BOX}clock = "logger"\n')
    write_box(drive, begins_s=9000)
    said = run(command, drive)
    assert said.returncode == 0
    line = only_line(said)
    assert "box" in line and "overlap" in line


BOX = '[[recording]]\nname = "box"\nfile = "box.csv"\nplace = "gearbox"\n'


def write_box(drive, *, begins_s=0.0):
    rows = [
        f"{begins_s + k / 400:.4f},{0.1 * (k % 7):.2f},{0.1 * (k % 3):.1f},{9.8 + 0.1 * (k % 5):.1f}"
        for k in range(4000)
    ]
    (drive / "box.csv").write_text("\n".join(["time [s],accel_x [m/s^2],accel_y [m/s^2],accel_z [m/s^2]", *rows]))


BAD_BOXES = {
    "missing": (None, "there is no such file"),
    "empty": ("", "is empty"),
    "unknown unit": ("time [s],accel_x [stone]\n0,1\n0.1,2\n0.2,1\n", "stone"),
    "one row": ("time [s],accel_x [g]\n0,1\n", "one row"),
}


@pytest.mark.parametrize("command", ["check", "measure"])
@pytest.mark.parametrize("name", BAD_BOXES)
def test_a_good_drive_with_one_bad_recording_goes_on_and_says_so_once(run, make_drive, command, name):
    text, words = BAD_BOXES[name]
    drive = make_drive(recordings=LEVER + BOX)
    if text is not None:
        (drive / "box.csv").write_text(text)
    said = run(command, drive)
    assert said.returncode == 0
    assert said.stdout
    line = only_line(said)
    assert "box.csv" in line and words in line


def test_what_is_left_out_stands_in_the_document_too(run, make_drive, tmp_path):
    target = tmp_path / "out.json"
    said = run("measure", make_drive(recordings=LEVER + BOX), "--json", target)
    assert said.returncode == 0
    assert '"file": "box.csv"' in target.read_text(encoding="utf-8")


def test_a_text_in_one_cell_is_mended_and_counted(run, make_drive):
    rows = lever_rows()
    at, _, engage = rows[500].split(",")
    said = run("check", make_drive(rows=[*rows[:500], f"{at},abc,{engage}", *rows[501:]]))
    assert (said.returncode, said.stderr) == (0, "")
    assert "mended    cells that are no number: 1" in said.stdout


@pytest.mark.parametrize("command", ["check", "measure"])
def test_a_bad_drive_among_good_ones_does_not_stop_them(run, make_drive, command):
    bad, good = make_drive("bad", rows=["0,512,512"]), make_drive("good")
    said = run(command, bad, good)
    assert said.returncode == 0
    assert "lever.csv" in only_line(said)
    assert said.stdout.startswith("good, Test car")


@pytest.mark.parametrize("command", ["check", "measure"])
def test_a_wrong_profile_among_good_drives_is_exit_2_and_the_others_are_still_shown(run, make_drive, command):
    said = run(command, make_drive("bad", car="format = = 1"), make_drive("good"))
    assert said.returncode == 2
    assert "car.toml" in only_line(said)
    assert said.stdout.startswith("good, Test car")


def test_nothing_is_written_where_nothing_was_usable(run, make_drive, tmp_path):
    target = tmp_path / "out.json"
    said = run("measure", make_drive("a", rows=[], header=""), make_drive("b", rows=[], header=""), "--json", target)
    assert said.returncode == 2
    assert len(said.stderr.splitlines()) == 2
    assert not target.exists()


@pytest.mark.parametrize("command", ["check", "measure"])
def test_a_drive_that_is_not_there(run, tmp_path, command):
    said = run(command, tmp_path / "nowhere")
    assert said.returncode == 2
    assert "nowhere" in only_line(said)


def test_places_that_cannot_be_written_are_named(run, make_drive, tmp_path):
    drive, file = make_drive(), tmp_path / "a-file"
    file.write_text("")
    log, car = drive / "lever.csv", drive / "car.toml"
    for named, arguments in (
        ("out.json", ["measure", drive, "--json", tmp_path / "no" / "such" / "out.json"]),
        ("a-file", ["measure", drive, "--workshop", file]),
        ("a-file", ["add", log, "--car", car, "--into", file / "drive"]),
        ("a-file", ["car", file / "car.toml", "--planes", "1-2,3-4"]),
    ):
        said = run(*arguments)
        assert said.returncode == 2, said.stderr
        assert named in only_line(said)


def only_line(said) -> str:
    lines = said.stderr.splitlines()
    assert len(lines) == 1, said.stderr
    return lines[0]
