"""Guided tests at standstill, as a technician does them before he drives off; each leaves its mark."""

from collections.abc import Mapping

import numpy as np

from shiftlog.model.drive import MarkedTest
from shiftlog.synth.driver import Driver
from shiftlog.synth.hand import WALL_MM

PRESSES = 3
BEYOND_WALL_MM = 3.0
"""Sideways the hand leads the lever further than the slot is wide: the slot's wall stops it."""


def release_from_both_sides(driver: Driver, *, each: int) -> None:
    """Lead the lever to one side and the other in turn, ``each`` times, and let it go there."""
    begin_s = driver.now
    for index in range(2 * each):
        _lead_and_let_go(driver, -1 if index % 2 else 1)
    _mark(driver, "release", begin_s)


def press_home(driver: Driver, *, clearance_mm: Mapping[str, float]) -> None:
    """In each gear: let go, push home against the stop and let go, and the same to either side.

    clearance_mm : how far the stop lies beyond where the lever lies in gear when let go, by gear [mm]
    """
    begin_s = driver.now
    for gear in driver.synth_car.car.gate.gears:
        driver.change(gear, style=driver.draw_style(press=False), hold_clutch=True)
        driver.wait(1.0)
        select, engage = driver.hand.seat(gear)
        home = (select, engage + np.sign(engage) * clearance_mm[gear])
        for to in (home, (select - BEYOND_WALL_MM, engage), (select + BEYOND_WALL_MM, engage)):
            for _ in range(PRESSES):
                driver.press(to, seconds=driver.rng.uniform(0.8, 1.1))
                driver.press((select, engage), seconds=driver.rng.uniform(0.8, 1.1))
        driver.into_neutral()
        driver.wait(0.5)
    _mark(driver, "clearance", begin_s)


def _lead_and_let_go(driver: Driver, side: int) -> None:
    """Out to the middle of the plane beside home, or to the gate's wall where the lever lies there already."""
    rng, gate = driver.rng, driver.synth_car.car.gate
    goal = driver.side_mm(side) + rng.uniform(-1.0, 1.0)
    if abs(goal - driver.lever_select) < 0.6 * gate.plane_pitch_mm:
        goal = driver.side_mm(side) + side * WALL_MM
    driver.lead(goal, duration_s=rng.uniform(0.25, 0.5), lie_s=rng.uniform(0.5, 0.9), touch=True)
    driver.let_go(least_s=rng.uniform(0.8, 1.6))


def _mark(driver: Driver, kind: str, begin_s: float) -> None:
    driver.marks.append(MarkedTest(kind=kind, start_s=begin_s, end_s=driver.now, configuration="complete"))
    driver.wait(0.5)
