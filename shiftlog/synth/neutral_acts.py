"""What people do in neutral: stop, wait, play with the lever, let it go, lead it home, or hold it."""

import numpy as np

from shiftlog.synth.driver import Driver
from shiftlog.synth.manner import draw_standing_pushes

HOLD_SHARE = 0.25


def stop(driver: Driver) -> None:
    """Stop for lights: coasting up in neutral, or in gear with the clutch down."""
    rng = driver.rng
    if rng.random() < 0.5 and driver.speed > 4.0:
        driver.into_neutral()
        lie_in_neutral(driver, moving=True)
    driver.slow(brake=rng.uniform(0.25, 0.4), until=lambda: driver.speed < 0.02, longest_s=40.0)
    driver.wait(0.5)
    if driver.gear is not None:
        driver.into_neutral()
        lie_in_neutral(driver, moving=False)


def stand_about(driver: Driver) -> None:
    """What people do at lights: nothing, play with the lever, or reverse a little."""
    rng = driver.rng
    for _ in range(int(rng.integers(0, 3))):
        play_with_lever(driver)
    if rng.random() < 0.25 and driver.gear is None:
        driver.change("R", pushes=draw_standing_pushes(driver), throttle=0.2)
        driver.wait(rng.uniform(1.0, 2.0))
        stop(driver)


def play_with_lever(driver: Driver) -> None:
    """Lead the lever to one side and let it run."""
    rng, pitch = driver.rng, driver.synth_car.car.gate.plane_pitch_mm
    away = [s for s in (-1, 1) if abs(driver.side_mm(s) - driver.lever_select) > 0.6 * pitch]
    if not away:
        return
    goal = driver.side_mm(int(rng.choice(away))) + rng.uniform(-1.0, 1.0)
    long_hold = rng.random() < HOLD_SHARE
    lie_s = rng.uniform(0.7, 1.5) if long_hold else rng.uniform(0.02, 0.1)
    driver.lead(goal, duration_s=rng.uniform(0.25, 0.5), lie_s=lie_s, touch=long_hold)
    driver.lead(goal + np.sign(goal) * rng.uniform(0.3, 0.9), duration_s=0.09, lie_s=0.0, touch=False)
    driver.let_go(least_s=rng.uniform(0.8, 2.0))


def lie_in_neutral(driver: Driver, *, moving: bool) -> None:
    """A stay in neutral of over two seconds: let go, led home, or held; then perhaps played with."""
    rng, began, spring = driver.rng, driver.now, driver.health.spring
    seconds = rng.uniform(2.4, 4.5)
    driver.controls.clutch.to(0.0, start_s=driver.now + 0.1, over_s=0.4)
    draw = rng.random()
    if draw < driver.health.guided_share:
        home = float(rng.uniform(-1.2, 1.2))
        stays = abs(home - spring.centre_mm) < spring.friction_mm and rng.random() < 0.6
        driver.lead(home, duration_s=rng.uniform(0.4, 1.0), lie_s=seconds, touch=not stays)
    elif draw < driver.health.guided_share + 0.12:
        driver.hold(seconds)
    else:
        _lean_out_and_let_go(driver, seconds)
    if not moving and rng.random() < 0.6:
        play_with_lever(driver)
    driver.wait(max(0.0, began + 2.4 - driver.now))


def _lean_out_and_let_go(driver: Driver, seconds: float) -> None:
    rng, here = driver.rng, driver.lever_select
    if abs(here) > 5.0:
        outward = here + np.sign(here) * rng.uniform(0.3, 1.0)
        driver.lead(outward, duration_s=rng.uniform(0.08, 0.2), lie_s=0.0, touch=False)
    driver.let_go(least_s=seconds)
