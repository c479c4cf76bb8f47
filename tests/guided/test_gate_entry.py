"""Gate entry against made shifts whose way past the gate's edge is known."""

import numpy as np
import pytest

from shiftlog.pipeline import load_drive, measure_drive

from .made import MadeDrive, Mark, accel_log, engine_hum
from .made_entry import ORDER, tell_entry


@pytest.mark.parametrize(("bias", "seed"), [(0.0, 1), (2.5, 2), (-3.5, 3)])
def test_entry_offsets_are_those_of_the_hand(tmp_path, bias, seed):
    told, truth = tell_entry(tmp_path / "d", bias_mm=bias, spread_mm=0.4, seed=seed)
    offsets = [f for f in told.figures if f.key == "entry_offset_mm"]
    assert {f.of.split()[0] for f in offsets} == set(truth)
    for figure in offsets:
        assert figure.value == pytest.approx(bias, abs=0.5 + 0.8)
    assert np.median([abs(f.value - bias) for f in offsets]) < 0.5


def test_strikes_are_counted(tmp_path):
    told, _ = tell_entry(tmp_path / "d", bias_mm=0.0, spread_mm=0.5, strikes=6, seed=5)
    share = told.figure("strikes").share
    assert (share.k, share.n) == (6, len(ORDER) * 2 + 6)


def test_an_offset_alike_from_both_sides_points_at_the_setting(tmp_path):
    told, _ = tell_entry(tmp_path / "d", bias_mm=4.0, spread_mm=0.3, seed=6)
    assert any(place == "adjust" for place, _ in told.points_to)
    rooms = [f.value for f in told.figures if f.key == "wrong_plane_room_mm"]
    # Half a pitch less the offset; the spread's worst of six.
    assert min(rooms) == pytest.approx(12.5 - 4.0, abs=1.2)


def test_without_a_lever_it_is_refused(tmp_path):
    rng, time_s = np.random.default_rng(1), np.arange(0, 20, 0.005)
    marks = [Mark(kind="gate_entry", start_s=0.5, end_s=15.0)]
    felt = accel_log(time_s, engine_hum(time_s, np.full(time_s.size, 850.0), rng))
    MadeDrive(logs=[felt], marks=marks).write(tmp_path / "d")
    told = measure_drive(load_drive(tmp_path / "d")).guided[0]
    assert not told.figures and "no lever sensor" in told.says[0]
