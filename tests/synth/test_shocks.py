"""Disturbances that are no grind: potholes met while a gear goes in, a trim that rattles, gears that whine."""

from dataclasses import replace

import numpy as np
import pytest

from shiftlog.synth.cars import CARS
from shiftlog.synth.health import draw_health
from shiftlog.synth.scenario import SynthDrive, make_drive
from shiftlog.synth.tones import draw_tones
from shiftlog.synth.vehicle import STEP_S, Motion


def _drive(road: str, rattle_mps2: float = 0.0) -> SynthDrive:
    health = draw_health("healthy", CARS["saloon6"], np.random.default_rng(3))
    return make_drive(
        car="saloon6", seed=9, health=replace(health, rattle_mps2=rattle_mps2), road=road, minutes=3.0
    )  # fmt: skip


def _met(drive: SynthDrive) -> int:
    ends = np.array([s.end_s for s in drive.truth.shifts if s.end_s is not None and not s.standing])
    holes = np.array(drive.truth.potholes_s)
    since = holes[:, None] - ends[None, :] if holes.size else np.zeros((0, ends.size))
    return int(np.sum(np.any((since > -0.36) & (since < 0.11), axis=0)))


@pytest.fixture(scope="module")
def holed() -> SynthDrive:
    return _drive("holed")


def test_potholes_are_met_while_gears_go_in_on_a_holed_road_only(holed):
    """A quarter of about thirty shifts: fewer than three happens once in a hundred drives."""
    assert _met(holed) >= 3
    assert _drive("smooth").truth.potholes_s == ()


def test_pothole_reaches_gearbox_and_grind_band_but_is_no_grind(holed):
    gearbox = holed.undisturbed.gearbox
    assert not holed.truth.grinds
    assert np.array_equal(gearbox.whole, gearbox.bare)
    at_s = max(holed.truth.potholes_s, key=lambda t: _loud(gearbox, t))
    assert _loud(gearbox, at_s) > 3 * np.median([_loud(gearbox, t) for t in np.arange(5, 170, 3.7)])


def _loud(gearbox, at_s: float) -> float:
    first, last = np.searchsorted(gearbox.time_s, (at_s, at_s + 0.1))
    return float(np.std(np.diff(gearbox.bare[first:last], axis=0)))


def test_rattle_comes_where_the_road_shakes(holed):
    """The same drive with a loose trim: more where the road throws it than where the car stands."""
    loose = _drive("holed", rattle_mps2=0.8)
    added = loose.undisturbed.gearbox.bare - holed.undisturbed.gearbox.bare
    speed = np.interp(holed.undisturbed.gearbox.time_s, holed.motion.time_s, np.abs(holed.motion.speed_mps))
    assert added[speed > 12].std() > 3 * added[speed < 0.5].std()
    assert added.std() == pytest.approx(0.6 * 0.8 / np.sqrt(3), rel=0.3)


def test_whine_follows_the_wheels_and_goes_with_the_clutch():
    """z · wheel speed · final drive; nothing of it where no force passes. One bin of a second is 1 Hz."""
    synth = CARS["saloon6"]
    time_s = np.arange(0, 4, STEP_S)
    force = np.where(time_s < 2, 3.0 * synth.mass_kg, 0.0)
    names = ("engine_rpm", "accel_mps2", "yaw_rate", "throttle", "brake", "grade", "clutch", "closed")
    still = {n: np.zeros(time_s.size) for n in names}
    motion = Motion(time_s=time_s, speed_mps=np.full(time_s.size, 8.0), force_n=force, **still)
    tones = draw_tones(np.random.default_rng(2))
    at = np.arange(0, 4, 1 / 3200)
    felt = tones.felt(at, motion, synth, rate_hz=3200.0)
    hz = tones.mesh_teeth * 8.0 / (2 * np.pi * synth.car.rolling_radius_m) * synth.car.final_drive["3"]
    under, free = (np.abs(np.fft.rfft(felt[first : first + 3200], axis=0)).sum(axis=1) for first in (1600, 8000))
    assert abs(int(np.argmax(under)) - hz) <= 1.0
    assert free[int(round(hz))] < 0.1 * under[int(round(hz))]
