"""Jumping out of gear against made drives: rocking mounts, gears that walk out, gears that let go."""

import numpy as np
import pytest

from shiftlog.pipeline import load_drive, measure_drive

from .made_jump_out import GEARS, MadeJumpOut


def _measure(made: MadeJumpOut, folder):
    return measure_drive(load_drive(made.run(folder))).guided[0]


def _walks(told) -> set[tuple[str, str]]:
    named = [says for says in told.says if says.startswith("Gear ")]
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


def test_jump_outs_are_counted_by_gear_and_direction(tmp_path):
    told = _measure(MadeJumpOut(seed=7, jumps={("2", "drive"): 2}), tmp_path / "d")
    share = told.figure("jump_outs", "2 drive").share
    assert (share.k, share.n) == (2, 3)
    for gear in GEARS:
        others = [told.figure("jump_outs", f"{gear} {way}") for way in ("drive", "overrun")]
        assert all(f.share.n == 3 for f in others)
        assert sum(f.share.k for f in others) == (2 if gear == "2" else 0)


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
