"""Files that come with logs and are none: each is listed with what it is used for, or why it is not."""

import shutil

import pytest

from dashboard.incoming import Answers
from dashboard.parts.import_form import file_sections


def refer(library, folder):
    return library.imports.incoming.refer(str(folder))


def test_files_that_are_no_log_are_listed_with_what_they_are_used_for(waiting):
    pytest.importorskip("can", reason="python-can, of the extra [can], is not installed")
    library, folder = waiting
    token = refer(library, folder)
    assert library.imports.read(token).beside == (("car.toml", "the car's profile"),)
    frames = [f"({1 + 0.02 * k:.6f}) can0 100#{1000 + k:04X}000000000000\n" for k in range(400)]
    (folder / "trace.log").write_text("".join(frames))
    signal = '[[signal]]\nname = "engine_speed"\nid = 0x100\nstart = 7\nlength = 16\norder = "big"\nunit = "rpm"\n'
    for name in ("signals.toml", "spare.toml"):
        (folder / name).write_text(signal)
    (folder / "other.toml").write_text((folder / "car.toml").read_text())
    (folder / "settings.toml").write_text("rate = 3\n")
    token = refer(library, folder)
    uses = dict(library.imports.read(token).beside)
    assert uses == {
        "car.toml": "the car's profile",
        "other.toml": "a car's profile, not used, as another one is",
        "settings.toml": "not used: no log, no car's profile and no description of a bus",
        "signals.toml": "says what the frames of trace.log hold",
        "spare.toml": "says what the frames of a bus hold, not used, as signals.toml is",
    }
    sections = file_sections(library.imports.read(token), Answers(), ["car.toml", "lever.csv"], "refused")
    assert "car.toml: the car's profile" in str(sections) and "Not a log" not in str(sections)


def test_a_description_or_a_profile_with_a_fault_is_told_its_fault(waiting):
    pytest.importorskip("can", reason="python-can, of the extra [can], is not installed")
    library, folder = waiting
    frames = [f"({1 + 0.02 * k:.6f}) can0 100#{1000 + k:04X}000000000000\n" for k in range(400)]
    (folder / "trace.log").write_text("".join(frames))
    signal = '[[signal]]\nname = "engine_speed"\nid = 0x100\nstart = 7\nlength = 16\norder = "big"\nunit = "rpm"\n'
    (folder / "bad.toml").write_text(signal + "scale = \n")
    (folder / "latin.toml").write_bytes('[car]\nname = "Coupé"\n'.encode("latin-1"))
    (folder / "signals.toml").write_bytes(b"\xef\xbb\xbf" + signal.encode())
    uses = dict(library.imports.read(refer(library, folder)).beside)
    assert uses.pop("bad.toml").startswith("not used: is no valid TOML: Invalid value (at line 8")
    assert uses == {
        "car.toml": "the car's profile",
        "latin.toml": "not used: is not UTF-8 text; save it as UTF-8",
        "signals.toml": "says what the frames of trace.log hold",
    }


def test_files_of_a_drive_folder_are_listed_with_what_they_are(empty_library, drive_folders, tmp_path):
    folder = shutil.copytree(drive_folders["after"], tmp_path / "drive")
    (folder / "more.csv").write_text("time [s],speed\n0,1\n1,2\n")
    uses = dict(empty_library.imports.read(refer(empty_library, folder)).beside)
    assert uses == {
        "drive.toml": "says what the drive is made of", "car.toml": "the car's profile",
        "lever.csv": "a log of the drive", "bus.csv": "a log of the drive", "gearbox.csv": "a log of the drive",
        "more.csv": "not used, as drive.toml does not name it",
    }  # fmt: skip
