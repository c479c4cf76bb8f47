"""All formats alike: how each is known, what a missing extra says, and the whole way through ``add``."""

import shutil
import tomllib
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from shiftlog.errors import LogError, ProfileError
from shiftlog.ingest import optional
from shiftlog.ingest.add import plan_drive, write_drive
from shiftlog.ingest.add_options import AddOptions
from shiftlog.ingest.drive_file import list_files, read_drive
from shiftlog.ingest.formats.known import FORMATS, find_format
from shiftlog.ingest.log_file import LogRequest, read_log
from tests.conftest import PROJECT
from tests.ingest.bus_writer import DBC, SIGNALS_TOML, drive_frames, write_trace


@pytest.fixture
def bus(tmp_path: Path) -> Path:
    """A folder with a candump, its signals in TOML and as a DBC."""
    folder = tmp_path / "given"
    folder.mkdir()
    write_trace(drive_frames(), folder / "trace.log")
    (folder / "signals.toml").write_text(SIGNALS_TOML)
    (folder / "car.dbc").write_text(DBC)
    return folder


CONTENT = {
    "CAN trace (candump)": "(1700000000.000001) can0 140#0006A04300000F81\n",
    "CAN trace (TRC)": ";$FILEVERSION=1.1\n;$STARTTIME=43008.9\n  1)  0.1 Rx 0140 8 00 06 A0 43 00 00 0F 81\n",
    "CAN trace (ASC)": "date Thu Nov 25 10:00:00 2026\nbase hex  timestamps absolute\n 0.001 1  140  Rx  d 2 00 00\n",
    "CAN trace (BLF)": b"LOGG\x90\0\0\0",
    "MDF 4 log": b"MDF     4.10    ",
    "GPX track": '<?xml version="1.0"?>\n<gpx version="1.1">',
    "NMEA 0183 log": "$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A\n",
    "OBD log": "ELM327 v1.5\n>010C\n7E8 04 41 0C 1A F8\n",
}


@pytest.mark.parametrize("name", CONTENT)
def test_what_is_in_the_file_decides(tmp_path, name: str) -> None:
    content = CONTENT[name]
    path = tmp_path / "anything.dat"
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    assert find_format(path, file=path.name).name == name


def test_a_table_stays_a_table_whatever_its_ending(tmp_path) -> None:
    rows = "\n".join(f"{k / 100:.2f},{k},{k % 9}" for k in range(100))
    for ending in sorted({e for f in FORMATS for e in f.endings} | {".csv"}):
        path = tmp_path / f"lever{ending}"
        path.write_text("time [s],select [count],engage [count]\n" + rows)
        assert find_format(path, file=path.name) is None


def test_every_format_and_its_extra_stand_in_the_readme_and_the_project() -> None:
    readme = (PROJECT / "README.md").read_text(encoding="utf-8")
    extras = tomllib.loads((PROJECT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["optional-dependencies"]
    for known in FORMATS:
        assert all(f"`{ending}`" in readme for ending in known.endings), known.name
        assert known.extra is None or (known.extra in extras and f"shiftlog[{known.extra}]" in readme)


def test_a_missing_extra_is_one_line_and_the_rest_is_read(bus, tmp_path, monkeypatch) -> None:
    (bus / "lever.csv").write_text(
        "time [s],select [count],engage [count]\n"
        + "\n".join(f"{k / 100:.2f},{500 + k % 40},{300 + k % 30}" for k in range(400))
    )
    logs = [bus / "trace.log", bus / "lever.csv"]
    folder = write_drive(
        plan_drive(logs, None, options=AddOptions(decode=(str(bus / "signals.toml"),))), tmp_path / "d"
    )

    def refuse(name: str):
        raise ModuleNotFoundError(name)

    monkeypatch.setattr(optional.importlib, "import_module", refuse)
    drive = read_drive(folder)
    assert [r.name for r in drive.recordings] == ["lever"]
    assert drive.left_out[0].why == (
        'trace.log: reading it needs an extra; install it with: pip install "shiftlog[can]"'
    )


@pytest.mark.parametrize("name", ["signals.toml", "car.dbc"])
def test_a_trace_is_added_with_what_decodes_it(bus, tmp_path, name: str) -> None:
    plan = plan_drive([bus / "trace.log"], None, options=AddOptions(decode=(f"trace.log={bus / name}",)))
    folder = write_drive(plan, tmp_path / "d")
    assert tomllib.loads((folder / "drive.toml").read_text())["recording"][0]["decode"] == name
    assert (folder / name).read_bytes() == (bus / name).read_bytes()
    assert folder / name in list_files(folder).logs
    recording = read_drive(folder).recordings[0]
    assert recording.place == "engine" and recording.has("engine_speed", "vehicle_speed", "accel_x")
    text = "\n".join(plan.lines)
    assert "engine_speed from engine_speed [rpm]" in text and "at 100 Hz, 0 gaps" in text


def test_what_decodes_may_lie_one_folder_up_and_no_further(bus, tmp_path) -> None:
    plan = plan_drive([bus / "trace.log"], None, options=AddOptions(decode=(str(bus / "signals.toml"),)))
    folder = write_drive(plan, tmp_path / "drives" / "d")
    toml = folder / "drive.toml"
    shutil.move(folder / "signals.toml", folder.parent / "signals.toml")
    toml.write_text(toml.read_text().replace('"signals.toml"', '"../signals.toml"'))
    assert read_drive(folder).recordings[0].has("engine_speed")
    toml.write_text(toml.read_text().replace('"../signals.toml"', '"../../signals.toml"'))
    with pytest.raises(ProfileError, match=r"recording\[1\].decode: .* at most one folder up"):
        read_drive(folder)
    toml.write_text(toml.read_text().replace('"../../signals.toml"', '"gone.toml"'))
    assert "gone.toml" in read_drive(folder).left_out[0].why


def test_one_decoding_for_two_traces_is_copied_once_and_a_table_beside_them_needs_none(bus, tmp_path) -> None:
    write_trace(drive_frames(), bus / "second.blf")
    rows = "\n".join(f"{k / 100:.2f},{500 + k % 40},{300 + k % 30}" for k in range(400))
    (bus / "lever.csv").write_text("time [s],select [count],engage [count]\n" + rows)
    logs = [bus / n for n in ("trace.log", "second.blf", "lever.csv")]
    folder = write_drive(
        plan_drive(logs, None, options=AddOptions(decode=(str(bus / "signals.toml"),))), tmp_path / "d"
    )
    assert sorted(p.name for p in folder.iterdir()) == [
        "drive.toml", "lever.csv", "second.blf", "signals.toml", "trace.log"
    ]  # fmt: skip
    drive = read_drive(folder)
    assert len(drive.recordings) == 3
    first, second = (r.column("engine_speed") for r in drive.recordings[:2])
    np.testing.assert_array_equal(first, second)


@pytest.mark.parametrize(
    ("decode", "message"),
    [
        ("gone.toml", r"--decode gone.toml: there is no such file"),
        ("trace.log", r"trace.log: trace.log cannot decode its frames"),
    ],
)
def test_a_decoding_that_cannot_be_used(bus, monkeypatch, decode: str, message: str) -> None:
    monkeypatch.chdir(bus)
    with pytest.raises(LogError, match=message):
        plan_drive([Path("trace.log")], None, options=AddOptions(decode=(decode,)))


def test_a_decoding_for_a_table_has_nothing_to_decode(bus) -> None:
    (bus / "lever.csv").write_text("time [s],select [count],engage [count]\n1,2,3\n2,3,4\n")
    with pytest.raises(LogError, match="lever.csv: is no trace of a bus"):
        plan_drive([bus / "lever.csv"], None, options=AddOptions(decode=(str(bus / "signals.toml"),)))


STARTS = [content if isinstance(content, bytes) else content.encode() for content in CONTENT.values()]


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.sampled_from(STARTS), st.integers(0, 40), st.binary(max_size=300), st.booleans())
def test_whatever_follows_a_beginning_it_is_read_or_refused_in_one_line(tmp_path, start, cut, rest, decoded) -> None:
    (tmp_path / "signals.toml").write_text(SIGNALS_TOML)
    path = tmp_path / "odd.log"
    path.write_bytes(start + start[: len(start) - cut] + rest)
    request = LogRequest(path=path, file="odd.log", name="odd", place="engine", clock="odd",
                         decode=tmp_path / "signals.toml" if decoded else None)  # fmt: skip
    try:
        assert read_log(request).time_s.size >= 2
    except LogError as error:
        assert "odd.log" in str(error) and "\n" not in str(error)
