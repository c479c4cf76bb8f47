"""A technician who tests for two minutes at standstill, with everything fitted, before he drives off or without it."""

from dataclasses import replace
from functools import partial

import pytest

from shiftlog.pipeline import advise_cables, load_drive, measure_drive
from shiftlog.synth.demo import CAR, CLEARANCE_MM, RELEASES, SENSORS, before_repair
from shiftlog.synth.scenario import make_drive
from shiftlog.synth.standing_tests import press_home

TRUE_MM = CLEARANCE_MM["before"]
CLEARANCE_ERROR_MM, HYSTERESIS_ERROR_MM = 0.3, 0.5
"""What definitions allow a clearance and a hysteresis."""


@pytest.fixture(
    scope="module", params=[(0.0, True), (0.0, False), (4.0, False)], ids=["told", "unknown", "then driven"]
)
def drive(request, tmp_path_factory):
    """A car tested at standstill; its phone's axes and clock told or to be found; driven afterwards or not at all."""
    minutes, told = request.param
    fitted = replace(SENSORS, gearbox_rate_hz=None, declare_mounting=told, declare_clock=told)
    first = (RELEASES, partial(press_home, clearance_mm=TRUE_MM))
    made = make_drive(car=CAR, seed=31, health=before_repair(), sensors=fitted, minutes=minutes, first=first)
    return load_drive(made.write(tmp_path_factory.mktemp("standing") / "drive"))


def test_room_before_the_stops_is_found_gear_by_gear(drive):
    advice = advise_cables([drive])
    assert {c.gear for c in advice.clearances} == set(TRUE_MM)
    for clearance in advice.clearances:
        assert clearance.clearance_mm == pytest.approx(TRUE_MM[clearance.gear], abs=CLEARANCE_ERROR_MM)
    # One cable, no coupling: the best setting lies halfway between the least room forward and the least rearward.
    least = {side: min(TRUE_MM[gear] for gear in gears) for side, gears in (("forward", "135"), ("rear", "24R"))}
    assert advice.setting.engage_mm == pytest.approx((least["forward"] - least["rear"]) / 2, abs=CLEARANCE_ERROR_MM)
    assert advice.verdict == "adjust"


def test_let_goes_count_and_friction_is_told_from_a_spring(drive):
    """Five a side; the idling engine shakes the lever as much as a hand does, so one may be missed."""
    (release,) = [test for test in measure_drive(drive).guided if test.kind == "release"]
    home, right, left = (
        release.figure("not_home"),
        release.figure("no_motion", "right"),
        release.figure("no_motion", "left"),
    )
    assert home.share.k == home.share.n >= 9
    assert right.share.k == 0 and left.share.k == left.share.n >= 4
    # From the right the spring and friction bring this lever to -24.5 mm; at the wall on the left it stays, at -27.0.
    assert release.figure("hysteresis_mm").value == pytest.approx(2.5, abs=HYSTERESIS_ERROR_MM)
