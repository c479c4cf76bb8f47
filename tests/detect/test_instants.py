"""How well the instant of a crossing is known: position doubt over speed, by hand."""

from dataclasses import replace

import numpy as np
import pytest

from shiftlog.detect.instants import crossing_uncertainty
from shiftlog.model.lever import LeverPath

RATE_HZ = 250.0


def path(engage_mm: np.ndarray, *, noise_mm: float = 0.1) -> LeverPath:
    time = np.arange(engage_mm.size) / RATE_HZ
    speed = np.gradient(engage_mm, time)
    return LeverPath(
        time_s=time, select_mm=0 * time, engage_mm=engage_mm, engage_mmps=speed, still_mmps=np.abs(speed),
        depth=np.abs(engage_mm) / 15, gear=np.zeros(time.size, int), gears=("1",), seat_mm=np.array([15.0]),
        zero_u_mm=np.zeros(1),
        valid=np.ones(time.size, bool), rate_hz=RATE_HZ, noise_mm=noise_mm,
    )  # fmt: skip


def ramp(speed_mmps: float) -> np.ndarray:
    return np.clip(speed_mmps * (np.arange(0, 2, 1 / RATE_HZ) - 1.0), -15, 15)


@pytest.mark.parametrize("speed_mmps", [50.0, 100.0, 200.0])
def test_a_steady_lever_is_known_to_its_noise_over_its_speed(speed_mmps: float) -> None:
    by_hand = np.hypot(np.hypot(0.1, 0.05) / speed_mmps, 0.1 / RATE_HZ)
    assert crossing_uncertainty(path(ramp(speed_mmps)), 1.0, 0.9) == pytest.approx(by_hand, rel=0.1)


def test_a_lever_that_lingers_at_the_level_is_known_to_half_its_stay() -> None:
    time = np.arange(0, 2, 1 / RATE_HZ)
    lingering = np.interp(time, [0, 0.9, 0.96, 1.04, 1.1, 2.0], [-15, -15, 0, 0, 15, 15])
    assert crossing_uncertainty(path(lingering), 1.0, 0.9) == pytest.approx(0.04, abs=0.006)


def test_a_corner_at_the_level_leaves_more_uncertain() -> None:
    time = np.arange(0, 2, 1 / RATE_HZ)
    corner = np.interp(time, [0, 0.9, 1.0, 2.0], [-15, -15, 0, 100])
    assert crossing_uncertainty(path(corner), 1.0, 0.9) > crossing_uncertainty(path(ramp(150.0)), 1.0, 0.9)


def test_a_neutral_line_that_may_lie_off_moves_half_way_more_than_home() -> None:
    """Half way into the gear half of it counts, at depth 0.9 a tenth: 1 mm at 100 mm/s is 5 ms and 1 ms."""
    doubtful = replace(path(ramp(100.0), noise_mm=0.0), zero_u_mm=np.ones(1))
    half, home = (crossing_uncertainty(doubtful, 1.0, depth) for depth in (0.5, 0.9))
    assert half == pytest.approx(0.005, rel=0.05) and home == pytest.approx(0.001, rel=0.15)
