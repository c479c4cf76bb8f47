"""A whole log of a lever whose spring drives it against the end of the gate, whose wall cuts its swing short."""

import numpy as np
import pytest

from shiftlog.pipeline import load_drive, measure_drive
from shiftlog.synth.path import PATH_RATE_HZ
from shiftlog.synth.rest_motion import Spring, run_home

RATE_HZ = 200
SEATS = ((-25, 15), (-25, -15), (0, 15), (0, -15), (25, 15), (25, -15))
CAR = """format = 1
[car]
name = "Walled car"
[gate]
planes = [ { forward = "1", rear = "2" }, { forward = "3", rear = "4" }, { forward = "5", rear = "R" } ]
home = "3-4"
"""
DRIVE = """format = 1
[car]
profile = "car.toml"
[[recording]]
name = "lever"
file = "lever.csv"
place = "lever"
[recording.columns]
select = { column = "select", unit = "mm", grows = "right" }
engage = { column = "engage", unit = "mm", grows = "forward" }
"""


def course(spring: Spring, walls_mm: tuple[float, float]) -> np.ndarray:
    """Through all gears twice, then ten let-goes from the right, (n, 2) mm at ``RATE_HZ``."""
    points = [(0.0, 0.0)]
    for select, engage in SEATS * 2:
        points += [(select, 0.0)] * 2 + [(select, engage)] * 12 + [(select, 0.0)]
    knots = np.array(points, float)
    way = [np.stack([np.interp(np.arange(0, len(knots) - 1, 0.02), np.arange(len(knots)), c) for c in knots.T], axis=1)]
    ran = run_home(spring, 24.0, walls_mm=walls_mm)[:: int(PATH_RATE_HZ / RATE_HZ)] + 24.0
    for _ in range(10):
        here = way[-1][-1, 0]
        out = np.concatenate([np.linspace(here, 24.0, 60), np.full(80, 24.0), ran, np.full(400, ran[-1])])
        way.append(np.stack([out, np.zeros(out.size)], axis=1))
    return np.concatenate(way)


def returns(tmp_path, spring: Spring, walls_mm: tuple[float, float]) -> list:
    way = course(spring, walls_mm) + np.random.default_rng(2).normal(0, 0.05, (1, 2))
    way = way + np.random.default_rng(3).normal(0, 0.05, way.shape)
    rows = "\n".join(f"{k / RATE_HZ:.4f},{a:.3f},{b:.3f}" for k, (a, b) in enumerate(way))
    (tmp_path / "lever.csv").write_text(f"time [s],select [mm],engage [mm]\n{rows}\n", encoding="utf-8")
    (tmp_path / "car.toml").write_text(CAR, encoding="utf-8")
    (tmp_path / "drive.toml").write_text(DRIVE, encoding="utf-8")
    rests = measure_drive(load_drive(tmp_path)).rests
    return [r for r in rests if r.released and r.value("return_time_s") is not None]


def test_a_swing_against_the_wall_has_a_return_time_and_no_damping(tmp_path):
    rests = returns(tmp_path, Spring(centre_mm=-29.0, frequency_hz=3.5, damping=0.3, friction_mm=1.0), (-26.0, 30.0))
    assert len(rests) >= 8
    assert all(r.value("damping") is None for r in rests)
    assert all("end of the gate" in r.readings["damping"].why for r in rests)


def test_a_free_swing_keeps_its_figures(tmp_path):
    rests = returns(tmp_path, Spring(centre_mm=0.0, frequency_hz=4.0, damping=0.4, friction_mm=0.3), (-1e3, 1e3))
    assert len(rests) >= 8
    assert np.median([r.value("frequency_hz") for r in rests]) == pytest.approx(4.0, rel=0.05)
    assert np.median([r.value("damping") for r in rests]) == pytest.approx(0.4, abs=0.05)
