"""Gate entry against made shifts whose way past the gate's edge is known."""

import numpy as np
import pytest

from shiftlog.pipeline import load_drive, measure_drive

from .made import PLACES, MadeDrive, Mark, Way, accel_log, engine_hum, lever_log

DEPTH = 0.12
ORDER = ("1", "2", "3", "4", "5", "4", "3", "2", "1", "3", "5", "3", "1", "2", "4", "5", "2", "1")


def _pass_gate(way: Way, gear: str, off_mm: float, rng: np.random.Generator) -> None:
    """Across to beside the plane, in along its edge, and home as the gate leads."""
    select, engage = PLACES[gear]
    if abs(way.here[1]) > 1:
        way.move((way.here[0], 0.0), 0.12)
    way.move((select + off_mm, 0.0), rng.uniform(0.15, 0.3)).stay(rng.uniform(0.0, 0.1))
    way.move((select + off_mm, 0.3 * engage), 0.06).move((select, 0.6 * engage), 0.06).move((select, engage), 0.06)
    way.stay(0.6)


def _strike(way: Way, gear: str, rng: np.random.Generator) -> None:
    """A push at the wall between two planes that is turned back."""
    select, engage = PLACES[gear]
    way.move((way.here[0], 0.0), 0.12).move((select + rng.choice([-1, 1]) * 10.5, 0.0), 0.2)
    way.move((way.here[0], 0.3 * engage), 0.06).stay(0.08).move((way.here[0], 0.0), 0.06)


def _drive(folder, *, bias_mm: float, spread_mm: float, strikes: int = 0, seed: int = 0):
    rng, way = np.random.default_rng([seed, 3]), Way()
    way.stay(1.5)
    marked = rng.choice(len(ORDER) * 2, strikes, replace=False) if strikes else []
    truth: dict[str, list[float]] = {}
    for k, gear in enumerate(ORDER * 2):
        if k in marked:
            _strike(way, gear, rng)
        off = bias_mm + rng.normal(0, spread_mm)
        _pass_gate(way, gear, off, rng)
        truth.setdefault(gear, []).append(off)
    way.out().stay(1.0)
    marks = [Mark(kind="gate_entry", start_s=0.5, end_s=way.now_s - 0.3)]
    MadeDrive(logs=[lever_log(way.mm, rng)], marks=marks).write(folder)
    return measure_drive(load_drive(folder)).guided[0], truth


@pytest.mark.parametrize(("bias", "seed"), [(0.0, 1), (2.5, 2), (-3.5, 3)])
def test_entry_offsets_are_those_of_the_hand(tmp_path, bias, seed):
    told, truth = _drive(tmp_path / "d", bias_mm=bias, spread_mm=0.4, seed=seed)
    offsets = [f for f in told.figures if f.key == "entry_offset_mm"]
    assert {f.of.split()[0] for f in offsets} == set(truth)
    for figure in offsets:
        assert figure.value == pytest.approx(bias, abs=0.5 + 0.8)
    assert np.median([abs(f.value - bias) for f in offsets]) < 0.5


def test_strikes_are_counted(tmp_path):
    told, _ = _drive(tmp_path / "d", bias_mm=0.0, spread_mm=0.5, strikes=6, seed=5)
    share = told.figure("strikes").share
    assert (share.k, share.n) == (6, len(ORDER) * 2 + 6)


def test_an_offset_alike_from_both_sides_points_at_the_setting(tmp_path):
    told, _ = _drive(tmp_path / "d", bias_mm=4.0, spread_mm=0.3, seed=6)
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
