"""A sensor that lay otherwise for a while at the beginning or end of its log: that is left out, the rest measured."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from shiftlog.align.mounting import find_mountings
from shiftlog.align.signals import build_signals
from shiftlog.model.drive import Mounting, Placed
from tests.align.test_mounting import TIME_S, TURNS, a_course, find, off_deg, placed

TURN = TURNS[1]


def a_log(make, course: dict[str, np.ndarray], when: np.ndarray, way: tuple[float, float, float]) -> Placed:
    """A phone that lies as ``TURN`` and turned by ``way`` (about vehicle x, y, z, degrees) for the rows ``when``."""
    other = Rotation.from_euler("xyz", way, degrees=True).as_matrix() @ TURN
    columns = {"vehicle_speed": course["speed"]}
    for name, felt in (("accel", course["force"]), ("gyro", course["turning"])):
        turned = np.where(when[:, None], felt @ other, felt @ TURN)
        columns |= {f"{name}_{axis}": turned[:, k] for k, axis in enumerate("xyz")}
    return placed(make("phone", TIME_S, columns))


@pytest.mark.parametrize(("first_s", "last_s"), [(0, 12), (0, 30), (352, 360), (315, 360)])
def test_a_phone_fixed_late_or_taken_out_early_is_measured_while_it_was_fixed(make, first_s, last_s) -> None:
    out = (first_s <= TIME_S) & (last_s > TIME_S)
    found = find(a_log(make, a_course(), out, (0, 60, 0)))["phone"]
    assert found.confidence > 0.9 and off_deg(found, TURN) < 1.0
    assert not found.holds(TIME_S[out]).any()
    assert found.holds(TIME_S).sum() * 0.02 > 360 - (last_s - first_s) - 6
    said = f"before {found.held_s[0]:.0f} s" if first_s == 0 else f"from {found.held_s[1]:.0f} s on"
    assert found.why.startswith(said) and "left out" in found.why


@pytest.mark.parametrize("way", [(0, 0, 60), (0, 0, 90)])
def test_a_slip_about_the_vertical_near_the_end_leaves_the_long_side(make, way) -> None:
    late = TIME_S > 312
    found = find(a_log(make, a_course(), late, way))["phone"]
    assert off_deg(found, TURN) < 1.0 and found.slipped_at_s == pytest.approx(312, abs=10)
    assert found.held_s[0] is None and 290 < found.held_s[1] < 314
    assert "too little" in found.why and "left out" in found.why


def test_what_is_left_out_is_in_no_signal_in_vehicle_axes(make) -> None:
    item = a_log(make, a_course(), TIME_S < 30, (0, 60, 0))
    found = find_mountings([item], {"phone": Mounting(rotation=None, how="unknown")})["phone"].mounting
    signals = build_signals((replace(item, mounting=found),))
    assert signals.accel["body"].time_s[0] < 1
    for trace in (signals.accel_vehicle["body"], signals.yaw_rate):
        assert 29 < trace.time_s[0] < 36 and trace.time_s[-1] > 359


def test_a_hill_a_bend_or_a_ramp_at_the_beginning_is_no_sensor_that_lay_otherwise(make) -> None:
    course, ramp = a_course(), a_course(slope=np.arctan(0.15))
    force = np.where((TIME_S < 25)[:, None], ramp["force"], course["force"])
    force[TIME_S > 350] += [0.0, 4.0, 0.0]
    force[(TIME_S > 200) & (TIME_S < 210)] += [0.0, 4.0, 0.0]
    found = find(a_log(make, course | {"force": force}, TIME_S < 0, (0, 0, 0)))["phone"]
    assert found.held_s == (None, None) and off_deg(found, TURN) < 2.0


def test_a_turn_too_small_to_be_found_makes_forward_less_sure(make) -> None:
    found = find(a_log(make, a_course(), TIME_S > 180, (0, 0, 5)))["phone"]
    assert found.slipped_at_s is None and off_deg(found, TURN) < 2 * found.uncertainty_deg
    assert found.confidence < 0.9 and "halves of the drive have forward 5° apart" in found.why
    held = find(a_log(make, a_course(), TIME_S > 180, (0, 0, 0)))["phone"]
    assert held.confidence > 0.9 and held.why is None
