"""The demo's car, and what its drives tell."""

from pathlib import Path

import pytest

from shiftlog.synth.demo import CAR, RELEASES, SEED, make_demo_drive
from shiftlog.synth.drive_folder import write_car

DEMO = Path(__file__).resolve().parents[2] / "drives_demo"


def test_kept_profile_is_the_demo_cars(tmp_path):
    write_car(CAR.car, tmp_path / "car.toml")
    assert (DEMO / "car.toml").read_text("utf-8") == (tmp_path / "car.toml").read_text("utf-8")


@pytest.mark.parametrize("stage", ["before", "after"])
def test_demo_tells_its_story(stage):
    """Before: rests in 1-2, third clashes; after: rests at home, nothing clashes."""
    truth = make_demo_drive(stage, seed=SEED, minutes=3.0, first=(RELEASES,)).truth
    planes = [r.plane for r in truth.rests if r.released]
    assert len(planes) >= 6
    assert planes.count("1-2" if stage == "before" else "3-4") >= 0.9 * len(planes)
    assert bool(truth.grinds) == (stage == "before")
