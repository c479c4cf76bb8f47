"""Bearing and release noise on made idles and roads: what is louder when, and tones by order."""

from dataclasses import replace

import numpy as np
import pytest

from shiftlog.model.drive import MarkedTest
from shiftlog.pipeline import load_drive, measure_drive
from shiftlog.synth.recorder import Sensors
from shiftlog.synth.scenario import make_drive

from .made import RATIOS
from .made_noise import STATES, tell_idle, tell_road


@pytest.mark.parametrize("by", ["pedal", "card", "marks"])
def test_louder_with_the_clutch_up_points_inside(tmp_path, by):
    told = tell_idle(tmp_path / "d", loud={"clutch up": 0.9, "just touched": 0.9}, by=by)
    assert "louder with clutch up than with clutch down, 300 to 800 Hz" in told.says[0]
    assert [place for place, _ in told.points_to] == ["inside"]
    up, down = (told.figure("level_db", f"{state}, 300 to 800 Hz") for state in ("clutch up", "clutch down"))
    # The bearing adds its own power to what was there; the level with the clutch down is what was there.
    expected = 10 * np.log10(1 + 0.81 / 10 ** (down.value / 10))
    assert up.value - down.value == pytest.approx(expected, abs=1.0)


def test_states_held_longer_than_the_card_says_are_not_taken_for_alike(tmp_path):
    told = tell_idle(tmp_path / "d", loud={"just touched": 0.9}, by="card", held_s=14.0)
    assert told.says[0].startswith("Not known: without a clutch channel") and not told.points_to
    assert "mark each state as a span of its own" in told.says[0]


def test_gravity_makes_no_peak_where_a_span_begins(tmp_path):
    told = tell_idle(tmp_path / "d", loud={}, by="pedal")
    peaks = [told.figure("peak_mps2", f"{state}, 20 to 100 Hz").value for state in STATES]
    levels = [10 ** (told.figure("level_db", f"{state}, 20 to 100 Hz").value / 20) for state in STATES]
    # An even idle: no peak is far beyond its own level, and none differs from the other states' by more than chance.
    assert max(peaks) < 1.5 * min(peaks) and max(peaks) < 6 * max(levels)


def test_louder_with_the_pedal_down_points_at_the_release_bearing(tmp_path):
    told = tell_idle(tmp_path / "d", loud={"clutch down": 0.8, "just touched": 0.5})
    assert {place for place, _ in told.points_to} == {"outside"}
    assert any("release bearing" in why for _, why in told.points_to)


def test_a_pedal_whose_sensor_has_an_offset_is_up_where_it_rests(tmp_path):
    told = tell_idle(tmp_path / "d", loud={"clutch up": 0.9}, pedal_reads=(0.1, 0.7))
    assert any("louder with clutch up than with clutch down" in says for says in told.says)
    assert not any("not held" in doubt for doubt in told.doubts)


def test_nothing_is_louder_where_nothing_is(tmp_path):
    for seed in (1, 2, 3):
        told = tell_idle(tmp_path / str(seed), loud={}, seed=seed)
        assert told.says == ("No band is louder in one state of the clutch than in another.",) and not told.points_to


def test_a_slow_recorder_is_refused(tmp_path):
    told = tell_idle(tmp_path / "d", loud={}, rate_hz=200.0)
    assert not told.figures and "writes 200 values a second; 400 are needed: set it faster" in told.says[0]


def test_the_mesh_of_each_gear_is_found_by_its_teeth_and_the_loud_one_named(tmp_path):
    teeth = {"2": 17, "3": 19, "4": 21}
    told = tell_road(tmp_path / "d", teeth=teeth, sizes={"2": 0.4, "3": 2.0, "4": 0.4})
    for gear, count in teeth.items():
        assert told.figure("tone_order", f"{gear} drive").value == pytest.approx(count, abs=0.06)
    assert told.figure("tone_mps2", "3 drive").value == pytest.approx(2.0, rel=0.1)
    assert any(words.startswith("Gear 3") for words in told.says)
    assert not any(words.startswith(("Gear 2", "Gear 4")) for words in told.says)
    assert set(RATIOS) >= set(teeth)


def test_a_gear_whose_tone_was_not_heard_is_named_and_not_passed_over(tmp_path):
    told = tell_road(tmp_path / "d", teeth={"2": 23, "3": 29, "4": 55}, sizes={"2": 0.4, "3": 0.4, "4": 0.4})
    assert not any(says.startswith("No gear's tone") for says in told.says)
    assert any(says.startswith("No tone was heard of") and "4 drive" in says for says in told.says), told.says
    assert "the highest that is heard" in told.figure("tone_order", "4 drive").why


def test_a_recorder_too_slow_for_the_teeth_says_so_and_not_that_no_gear_was_held(tmp_path):
    drive = make_drive(car="hatch5", seed=77, health="healthy", minutes=2.0, sensors=Sensors(body_rate_hz=None))
    drive.write(tmp_path / "d")
    marked = (MarkedTest(kind="bearing_noise", start_s=5.0, end_s=110.0, configuration="on the road"),)
    told = measure_drive(replace(load_drive(tmp_path / "d"), tests=marked)).guided[0]
    assert not told.figures and "log the sound faster" in told.says[0] and "1600 values a second" in told.says[0]
