"""Drives of real logs (shared data, folders track-day, phone-roads and can-traces) of which some recordings are bad."""

import json
from pathlib import Path

import pytest

from shiftlog.cli import main
from shiftlog.ingest.add import plan_drive
from shiftlog.ingest.add_options import AddOptions
from tests.open_data.real_logs import LOGS, joined

pytestmark = pytest.mark.open_data

CAR = '[car]\nname = "unknown"\n[gate]\nplanes = [{ forward = "1", rear = "2" }, { forward = "3", rear = "4" }]\n'
COLUMNS = """[recording.columns]
time = { column = "time_s", unit = "s" }
engine_speed = { column = "rpm", unit = "rpm" }
vehicle_speed = { column = "gps_speed_ms", unit = "m/s" }
"""
PHONE = """[recording.columns]
time = { column = "Time", unit = "s" }
accel_x = { column = "X", unit = "m/s^2" }
accel_y = { column = "Y", unit = "m/s^2" }
accel_z = { column = "Z", unit = "m/s^2" }
"""


def entry(file: str, place: str, columns: str) -> str:
    return f'[[recording]]\nname = "{file}"\nfile = "{file}"\nplace = "{place}"\n{columns}\n'


class Folder:
    """A drive of one good log and as many bad ones as are put in."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.entries = folder, []
        folder.mkdir()
        (folder / "car.toml").write_text(CAR)

    def put(self, file: str, content: bytes | None, place: str, columns: str) -> None:
        if content is not None:
            (self.folder / file).write_bytes(content)
        self.entries.append(entry(file, place, columns))
        (self.folder / "drive.toml").write_text('format = 1\n[car]\nprofile = "car.toml"\n' + "".join(self.entries))


@pytest.fixture
def folder(tmp_path: Path) -> Folder:
    return Folder(tmp_path / "drive")


@pytest.fixture
def call(capsys):
    def run(*arguments: object) -> tuple[int, str, list[str]]:
        capsys.readouterr()
        code = main([str(a) for a in arguments])
        said = capsys.readouterr()
        return code, said.out, said.err.splitlines()

    return run


def bad_logs(open_data: Path) -> dict[str, tuple[bytes | None, str]]:
    """File → content and the beginning of the line that must be said of it."""
    phone = LOGS["phone"].lines(open_data)
    again = [",".join([a.split(",")[0], *b.split(",")[1:]]) for a, b in zip(phone[1:], phone[1500:2700], strict=False)]
    words = [phone[0], *(line.split(",")[0] + ",ERR,ERR,ERR" for line in phone[1:])]
    return {
        "gone.csv": (None, "gone.csv: there is no such file. Put it there, or mend the name."),
        "empty.csv": (b"", "empty.csv: is empty. Record it again, or leave it out."),
        "header.csv": (joined(phone[:1]), "header.csv: a header and no rows. Record it again, or leave it out."),
        "restart.csv": (
            joined([*phone[:1500], *again]),
            "restart.csv, row 1501: time jumps back by 15 s; the logger restarted. Split the file there, or use "
            "--allow-restart.",
        ),
        "words.csv": (joined(words), 'words.csv, row 2: "ERR" in column X (m/s^2), where a number should be'),
        "binary.csv": (bytes(range(256)) * 40, "binary.csv: is no text file"),
        "cut.csv": (
            joined([line if at % 9 else line[:20] for at, line in enumerate(phone, start=8)]),
            "cut.csv, row 2: 2 cells where the header has 4",
        ),
        "when.csv": (
            joined([phone[0].replace("Time (s)", "When (s)"), *phone[1:]]),
            'when.csv: has no column "Time" for time; it has When (s), X (m/s^2)',
        ),
    }  # fmt: skip


def test_a_drive_with_bad_recordings_is_measured_from_the_rest(folder: Folder, call, open_data: Path) -> None:
    bad = bad_logs(open_data)
    folder.put("empty.csv", bad["empty.csv"][0], "body", PHONE)
    folder.put("track.csv", joined(LOGS["track"].lines(open_data)), "engine", COLUMNS)
    for file in list(bad)[::-1]:
        if file != "empty.csv":
            folder.put(file, bad[file][0], "body", PHONE)
    code, out, err = call("measure", folder.folder, "--json", folder.folder / "result.json")
    assert code == 0
    left_out = [line for line in err if ".csv" in line]
    assert len(left_out) == len(bad), "\n".join(err)
    for _, line in bad.values():
        assert sum(said.startswith(f"shiftlog: {folder.folder.name}: {line}") for said in left_out) == 1, (line, err)
    result = json.loads((folder.folder / "result.json").read_text())
    assert [r["name"] for r in result["recordings"]] == ["track.csv"]
    assert len(result["shifts"]) >= 10


def test_a_drive_of_bad_recordings_alone_is_an_error(folder: Folder, call, open_data: Path) -> None:
    for file, (content, _) in bad_logs(open_data).items():
        folder.put(file, content, "body", PHONE)
    for command in ("measure", "check"):
        code, out, err = call(command, folder.folder)
        assert code == 2
        assert out == ""
        assert err, command
        assert all(any(file in line for line in err) for file in bad_logs(open_data))


def test_the_same_log_twice_is_added_once(open_data: Path, tmp_path: Path) -> None:
    lines = joined(LOGS["track"].lines(open_data))
    for name in ("a.csv", "b.csv"):
        (tmp_path / name).write_bytes(lines)
    plan = plan_drive([tmp_path / "a.csv", tmp_path / "b.csv"], None, options=AddOptions(column=("utc_s=-",)))
    assert [p.file for p in plan.recordings] == ["a.csv"]
    assert [item.why for item in plan.left_out] == [
        "b.csv: is the same log as a.csv, byte for byte. Give each log once."
    ]
    again = plan_drive([tmp_path / "a.csv", tmp_path / "a.csv"], None, options=AddOptions(column=("utc_s=-",)))
    assert [p.file for p in again.recordings] == ["a.csv"]


@pytest.mark.parametrize("temperature", ["5000", "-100"])
def test_an_impossible_gearbox_temperature_is_refused(call, folder: Folder, open_data: Path, temperature: str) -> None:
    log = folder.folder / "track.csv"
    folder.put("track.csv", joined(LOGS["track"].lines(open_data)), "engine", COLUMNS)
    into = folder.folder.parent / "added"
    code, _, err = call("add", log, "--column", "utc_s=-", f"--gearbox-temp={temperature}", "--into", into)
    assert (code, len(err)) == (2, 1)
    assert f"--gearbox-temp {temperature}: no gearbox has that; write degrees Celsius, -60 to 250." in err[0]
    assert not into.exists()
    toml = (folder.folder / "drive.toml").read_text()
    (folder.folder / "drive.toml").write_text(toml.replace("[car]", f"[drive]\ngearbox_temp_c = {temperature}\n[car]"))
    code, _, err = call("measure", folder.folder)
    assert (code, len(err)) == (2, 1)
    assert "drive.gearbox_temp_c" in err[0]


@pytest.mark.parametrize(("mps", "left_out"), [("0.0", True), ("30.0", False), (None, False)])
def test_a_speed_stuck_at_zero_on_the_track_is_left_out_and_said(open_data, tmp_path, call, mps, left_out) -> None:
    rows = [line.split(",") for line in LOGS["track"].lines(open_data)]
    for cells in rows[1:]:
        cells[2] = cells[2] if mps is None else mps
    (tmp_path / "track.csv").write_bytes(joined([",".join(cells) for cells in rows]))
    call("add", tmp_path / "track.csv", "--column", "utc_s=-", "--into", tmp_path / "drive")
    code, out, err = call("check", tmp_path / "drive")
    said = [line for line in err if "never changes" in line]
    assert code == 0 and len(said) == left_out
    assert all("the accelerometer of track felt that the car drove; it is left out" in line for line in said)
    assert ("vehicle_speed" in next(line for line in out.splitlines() if "channels" in line)) != left_out
