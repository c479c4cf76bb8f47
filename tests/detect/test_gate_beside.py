"""The gate map of a log with a marked test in which the lever is pushed against its stops."""

import numpy as np
import pytest

from shiftlog.detect.gate_beside import fit_gate
from shiftlog.detect.gates import fit_gate_map
from shiftlog.model.drive import MarkedTest

GEARS = ("1", "2", "3", "4", "5", "R")
CLEARANCE_MM = {"1": 1.0, "2": 3.5, "3": 1.2, "4": 2.8, "5": 1.1, "R": 3.6}


def press_home(hand):
    """Each gear three times home against its stop; the marked span."""
    start_s = hand.now_s
    for gear in GEARS:
        hand.shift(gear)
        select, engage = hand.gate.position_mm(gear)
        for _ in range(3):
            hand.move(select, engage + np.sign(engage) * CLEARANCE_MM[gear], 0.15).hold(1.1)
            hand.move(select, engage, 0.15).hold(1.1)
    hand.out().hold(1.0)
    return MarkedTest(kind="clearance", start_s=start_s, end_s=hand.now_s)


@pytest.fixture
def pressed(car, make_hand):
    """A tour through the gears, then the presses, of a sensor without a ruler."""
    hand = make_hand(car).hold(1.0)
    for gear in GEARS:
        hand.shift(gear)
    hand.out().hold(1.0)
    mark = press_home(hand)
    return hand.signals(noise=1.0), mark


def test_presses_do_not_drag_the_seats(car, pressed):
    signals, mark = pressed
    for seat in fit_gate(signals, car, (mark,)).seats:
        assert (seat.select_mm, seat.engage_mm) == pytest.approx(car.gate.position_mm(seat.gear), abs=0.2)


def test_presses_that_are_not_marked_do_drag_them(car, pressed):
    signals, mark = pressed
    scale = [np.linalg.norm(fit_gate(signals, car, tests).matrix[1]) for tests in ((), (mark,))]
    assert scale[0] < 0.97 * scale[1]


def test_a_log_of_the_test_alone_is_its_own_map(car, make_hand):
    hand = make_hand(car)
    mark = press_home(hand)
    signals = hand.signals(noise=1.0)
    assert np.array_equal(fit_gate(signals, car, (mark,)).matrix, fit_gate_map(signals, car).matrix)
