"""An accelerometer whose unit is named wrongly: its steady weight is gravity in another unit."""

import numpy as np
import pytest

from shiftlog.errors import LogError

RATE = 50.0


def log(weight: float, unit: str, *, shake: float = 0.1, turning: float = 0.0, seconds: int = 30) -> str:
    """``weight`` along z in the named unit's numbers, white shaking as a share of it, swings of a car's own pace."""
    rng = np.random.default_rng(1)
    time = np.arange(seconds * RATE) / RATE
    axes = weight * (np.array([0.0, 0.0, 1.0]) + rng.normal(0, shake, (time.size, 3)))
    axes[:, 0] += turning * np.sin(0.4 * time)
    rows = [f"{t:.3f},{x:.5f},{y:.5f},{z:.5f}" for t, (x, y, z) in zip(time, axes, strict=True)]
    return "\n".join([f"time [s],accel_x [{unit}],accel_y [{unit}],accel_z [{unit}]", *rows])


@pytest.mark.parametrize(
    ("weight", "unit", "other"),
    [(1.0, "m/s^2", "g"), (9.8, "g", "m/s^2"), (1000.0, "g", "mg"), (1.0, "mg", "g"), (0.97, "m/s^2", "g")],
)
def test_a_unit_named_wrongly_is_refused_with_the_one_that_fits(read, weight, unit, other):
    with pytest.raises(
        LogError,
        match=rf"lever.csv: acceleration in {unit.replace('^', '.')} reads .* as {other.replace('^', '.')} its",
    ):
        read(log(weight, unit))


@pytest.mark.parametrize(
    ("weight", "unit"),
    [(9.8, "m/s^2"), (1.0, "g"), (1000.0, "mg"), (8.3, "m/s^2"), (14.6, "m/s^2"), (0.01, "m/s^2"), (3.0, "m/s^2")],
)
def test_gravity_as_named_gravity_taken_out_and_an_offset_pass(read, weight, unit):
    assert read(log(weight, unit)).has("accel_x")


def test_a_log_without_gravity_passes_though_its_mean_is_like_one_of_g(read):
    assert read(log(1.0, "m/s^2", turning=2.0)).has("accel_x")


def test_a_log_too_short_to_tell_passes(read):
    assert read(log(1.0, "m/s^2", seconds=5)).has("accel_x")
