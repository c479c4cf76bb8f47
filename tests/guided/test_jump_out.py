"""Jumping out of gear against made drives: rocking mounts, gears that walk out, gears that let go."""

from dataclasses import replace

import numpy as np
import pytest

from shiftlog.errors import CannotMeasure
from shiftlog.guided.torque_spans import find_torque_spans
from shiftlog.model.settings import Settings
from shiftlog.pipeline import find_all, load_drive, measure_drive

from .made_jump_out import GEARS, MadeJumpOut


def _measure(made: MadeJumpOut, folder):
    return measure_drive(load_drive(made.run(folder))).guided[0]


def _walks(told) -> set[tuple[str, str]]:
    named = [says for says in told.says if says.startswith("Gear ") and not says.endswith("and comes back.")]
    return {(says.split()[1], "drive" if "under drive" in says else "overrun") for says in named}


def test_an_engine_that_rocks_is_no_gear_that_walks(tmp_path):
    told = _measure(MadeJumpOut(seed=2, rock_mm=3.5, creep=0.2), tmp_path / "d")
    assert not _walks(told)
    assert told.figure("moves_mm", "1 drive").value == pytest.approx(3.5 * 0.8, abs=0.6)
    assert any(place == "outside" and "Mounts" in why for place, why in told.points_to)


def test_a_gear_that_walks_out_is_named_with_its_direction(tmp_path):
    made = MadeJumpOut(seed=5, rock_mm=-2.0, walks={("3", "overrun"): 2.0})
    told = _measure(made, tmp_path / "d")
    assert _walks(told) == {("3", "overrun")}
    # The drift is looked at from 0.6 s on, which leaves out an eighth of an even creep.
    assert told.figure("drift_mm", "3 overrun").value == pytest.approx(2.0 * 0.88, abs=0.5)
    assert any(place == "inside" and "Gear 3" in why for place, why in told.points_to)


@pytest.mark.parametrize("closed, pedal", [(15.0, 95.0), (0.0, 50.0)])
def test_overrun_and_drive_are_told_whatever_the_throttle_reads(tmp_path, closed, pedal):
    walks = {("3", "overrun"): 2.0}
    told = _measure(MadeJumpOut(seed=5, rock_mm=1.5, walks=walks, closed=closed, pedal=pedal), tmp_path / "d")
    assert _walks(told) == {("3", "overrun")}
    assert {f.of.split()[1] for f in told.figures} == {"drive", "overrun"}


@pytest.mark.parametrize("gears", [("2", "3"), ("2", "3", "4")])
def test_among_few_gears_one_that_walks_does_not_make_another_walk(tmp_path, gears):
    made = MadeJumpOut(seed=5, walks={("2", "drive"): 2.5}, gears=gears)
    assert _walks(_measure(made, tmp_path / "d")) == {("2", "drive")}


def test_jump_outs_are_counted_by_gear_and_direction(tmp_path):
    told = _measure(MadeJumpOut(seed=7, jumps={("2", "drive"): 2}), tmp_path / "d")
    share = told.figure("jump_outs", "2 drive").share
    assert (share.k, share.n) == (2, 3)
    for gear in GEARS:
        others = [told.figure("jump_outs", f"{gear} {way}") for way in ("drive", "overrun")]
        assert all(f.share.n == 3 for f in others)
        assert sum(f.share.k for f in others) == (2 if gear == "2" else 0)


def test_a_gear_that_lets_go_and_hangs_on_its_way_out_counts_as_well(tmp_path):
    told = _measure(MadeJumpOut(seed=7, jumps={("2", "drive"): 2}, hangs_at=0.25), tmp_path / "d")
    share = told.figure("jump_outs", "2 drive").share
    assert (share.k, share.n) == (2, 3)


def test_overrun_right_after_drive_does_not_pass_for_a_gear_left_out(tmp_path):
    told = _measure(MadeJumpOut(seed=11, rock_mm=3.0, creep=0.0, by_card=True), tmp_path / "d")
    assert not _walks(told)
    left = [f.value for f in told.figures if f.key == "stays_out_mm" and f.value is not None]
    assert len(left) >= 5 and np.max(np.abs(left)) < 0.2


def test_a_walking_gear_is_seen_though_the_mounts_rock_further_than_it_walks(tmp_path):
    made = MadeJumpOut(seed=12, rock_mm=3.5, creep=0.0, walks={("4", "drive"): 2.0}, by_card=True)
    told = _measure(made, tmp_path / "d")
    assert _walks(told) == {("4", "drive")}
    assert any("does not come back" in says for says in told.says)
    assert any("in all gears, and it comes back" in says for says in told.says)


def test_a_gear_that_creeps_and_comes_back_does_not_walk_out(tmp_path):
    made = MadeJumpOut(seed=13, rock_mm=3.0, creep=0.0, walks={("3", "drive"): 1.2}, comes_back=True, by_card=True)
    told = _measure(made, tmp_path / "d")
    assert told.says[0] == "No gear walks out and stays out."
    assert any(says == "Gear 3 walks out under drive and comes back." for says in told.says)
    assert not any(place == "inside" for place, _ in told.points_to)


def test_a_gear_that_steps_out_at_once_is_no_rocking_engine(tmp_path):
    made = MadeJumpOut(seed=14, rock_mm=0.3, creep=0.0, steps={("3", "drive"): 3.5}, by_card=True)
    told = _measure(made, tmp_path / "d")
    assert _walks(told) == {("3", "drive")}
    assert any("in gear 3, by no more than" in says for says in told.says)
    assert not any("in all gears" in says for says in told.says)
    assert not any(place == "outside" for place, _ in told.points_to)


def test_jump_outs_at_part_throttle_count(tmp_path):
    told = _measure(MadeJumpOut(seed=15, jumps={("2", "drive"): 2}, pedal=40.0), tmp_path / "d")
    assert told.figure("jump_outs", "2 drive").share.k == 2


def test_a_body_accelerometer_tells_drive_from_overrun_where_nothing_else_does(tmp_path):
    folder = MadeJumpOut(seed=16, rock_mm=-2.0, walks={("3", "drive"): 2.0}, has_throttle=False).run(tmp_path / "d")
    drive = load_drive(folder)
    speed = drive.signals.vehicle_speed
    forward = np.gradient(speed.values, speed.time_s) + np.random.default_rng(1).normal(0, 0.1, speed.values.size)
    body = replace(speed, values=np.column_stack([forward, 0 * forward, 0 * forward + 9.81]), place="body")
    signals = replace(drive.signals, vehicle_speed=None, accel_vehicle={"body": body})
    spans = find_torque_spans(*_path_of(drive), drive.tests[0].start_s, drive.tests[0].end_s)
    felt = find_torque_spans(_path_of(drive)[0], signals, drive.tests[0].start_s, drive.tests[0].end_s)
    count = {
        d: [sum(s.direction == d and s.lasts for s in some) for some in (spans, felt)] for d in ("drive", "overrun")
    }
    assert count["drive"][0] == 15 and abs(count["drive"][1] - 15) <= 1
    nothing = replace(signals, accel_vehicle={})
    with pytest.raises(CannotMeasure, match="throttle or vehicle speed, or fit an accelerometer to the body"):
        find_torque_spans(_path_of(drive)[0], nothing, 0.0, 10.0)


def _path_of(drive):
    found = find_all(drive, Settings())
    return found.path, drive.signals


@pytest.mark.truth
def test_rock_and_walking_are_told_apart_over_many_drives(tmp_path):
    right = []
    for seed in range(300, 310):
        rng = np.random.default_rng(seed)
        key = (GEARS[int(rng.integers(5))], ("drive", "overrun")[int(rng.integers(2))])
        walks = {key: rng.uniform(0.9, 4.0)} if seed % 2 else {}
        made = MadeJumpOut(
            seed=seed, rock_mm=rng.uniform(-4, 4), creep=rng.uniform(0, 0.25), walks=walks, has_throttle=bool(seed % 3)
        )
        right.append(_walks(_measure(made, tmp_path / str(seed))) == set(walks))
    assert np.mean(right) >= 0.9
