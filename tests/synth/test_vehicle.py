"""Engine and vehicle speed through real ratios, and energy that goes where it should."""

import math

import numpy as np
import pytest

from shiftlog.synth.cars import CARS
from shiftlog.synth.pedals import Controls
from shiftlog.synth.vehicle import AIR_KGPM3, ROLLING, Vehicle
from shiftlog.units import STANDARD_GRAVITY_MPS2


def _driven(car: str, gear: str, throttle: float, seconds: float) -> Vehicle:
    controls = Controls()
    vehicle = Vehicle(synth_car=CARS[car], controls=controls)
    controls.clutch.to(1.0, start_s=0.1, over_s=0.2)
    controls.gear.engage(gear, at_s=0.6)
    controls.throttle.to(throttle, start_s=0.8, over_s=0.3)
    controls.clutch.to(0.0, start_s=1.0, over_s=1.2)
    vehicle.run(seconds)
    return vehicle


@pytest.mark.parametrize("car", sorted(CARS))
def test_engine_speed_is_vehicle_speed_times_ratio_with_the_clutch_closed(car):
    """n = v / (2π r) · i_gear · i_final · 60, exact while the clutch is locked."""
    profile = CARS[car].car
    motion = _driven(car, "1", 0.4, 5.0).motion()
    assert motion.closed[-1] and motion.speed_mps[-1] > 2.0
    turns = motion.speed_mps[-1] / (2 * math.pi * profile.rolling_radius_m)
    expected = turns * profile.ratios["1"] * profile.final_drive["1"] * 60
    assert motion.engine_rpm[-1] == pytest.approx(expected, rel=1e-9)


def test_reverse_goes_backwards():
    motion = _driven("hatch5", "R", 0.3, 4.0).motion()
    assert motion.speed_mps[-1] < -1.0


def test_coasting_in_neutral_loses_what_air_and_tyres_take():
    """dv/dt = −(c_rr g + ½ ρ CdA v² / m); over half a second at 12 m/s within 1 %."""
    vehicle = _driven("hatch5", "1", 0.5, 8.0)
    vehicle.controls.clutch.to(1.0, start_s=8.0, over_s=0.05)
    vehicle.controls.gear.engage(None, at_s=8.1)
    vehicle.run(9.5)
    motion = vehicle.motion()
    late = motion.time_s > 9.0
    speed = motion.speed_mps[late].mean()
    car = CARS["hatch5"]
    lost = ROLLING * STANDARD_GRAVITY_MPS2 + 0.5 * AIR_KGPM3 * car.drag_area_m2 * speed**2 / car.mass_kg
    assert motion.accel_mps2[late].mean() == pytest.approx(-lost, rel=0.01)


def test_it_stands_on_the_brake_and_the_engine_idles():
    vehicle = _driven("hatch5", "1", 0.3, 4.0)
    vehicle.controls.clutch.to(1.0, start_s=4.0, over_s=0.1)
    vehicle.controls.throttle.to(0.0, start_s=4.0, over_s=0.1)
    vehicle.controls.brake.to(0.4, start_s=4.1, over_s=0.2)
    vehicle.run(9.0)
    motion = vehicle.motion()
    assert np.all(motion.speed_mps[-200:] == 0.0)
    assert motion.engine_rpm[-1] == pytest.approx(CARS["hatch5"].idle_rpm, rel=0.15)
