"""The demo's drives on disk, and the folder that is kept in the project."""

from pathlib import Path

import pytest

from shiftlog.pipeline import load_drive, measure_drive
from shiftlog.synth.demo import CAR, SEED, make_demo_drive, make_short_drive
from shiftlog.synth.drive_folder import write_car

DEMO = Path(__file__).resolve().parents[2] / "drives_demo"
MOST_BYTES = 2_000_000


def test_kept_profile_is_the_demo_cars(tmp_path):
    write_car(CAR.car, tmp_path / "car.toml")
    assert (DEMO / "car.toml").read_text("utf-8") == (tmp_path / "car.toml").read_text("utf-8")


def test_short_drive_is_small_and_measured_whole():
    folder = DEMO / "short_drive"
    assert sum(f.stat().st_size for f in folder.iterdir()) < MOST_BYTES
    drive = load_drive(folder)
    assert drive.left_out == ()
    assert {p.recording.name for p in drive.placed} == {"lever", "bus", "gearbox", "phone"}
    assert len(measure_drive(drive).shifts) >= 5


def test_short_drive_is_what_the_script_makes(tmp_path):
    """The words are the same byte for byte; of the logs the length is compared, as numbers may differ in the last
    digit between versions of the numerical library."""
    made = make_short_drive(tmp_path / "short_drive")
    kept = DEMO / "short_drive"
    assert (made / "drive.toml").read_text("utf-8") == (kept / "drive.toml").read_text("utf-8")
    for log in ("lever.csv", "bus.csv", "gearbox.csv", "phone.csv"):
        rows = [len((folder / log).read_text("utf-8").splitlines()) for folder in (made, kept)]
        assert rows[0] == rows[1], log


@pytest.mark.parametrize("stage", ["before", "after"])
def test_demo_tells_its_story(stage):
    """Before: rests in 1-2, third clashes; after: rests at home, nothing clashes."""
    truth = make_demo_drive(stage, seed=SEED, minutes=3.0, releases=6).truth
    planes = [r.plane for r in truth.rests if r.released]
    assert len(planes) >= 6
    assert planes.count("1-2" if stage == "before" else "3-4") >= 0.9 * len(planes)
    assert bool(truth.grinds) == (stage == "before")
