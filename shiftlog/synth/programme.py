"""What happens on a drive: one act after another at random, as roads and people have it."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from shiftlog.synth.driver import Driver
from shiftlog.synth.manner import Mix, draw_manner, draw_refusals, draw_standing_pushes
from shiftlog.synth.neutral_acts import lie_in_neutral, stand_about, stop

Act = Callable[[Driver], None]


def drive_about(driver: Driver, *, until_s: float, mix: Mix, first: tuple[Act, ...] = ()) -> None:
    """Stand, do what comes ``first``, drive about until ``until_s``, and stop in neutral."""
    driver.wait(driver.rng.uniform(2.5, 4.0))
    for act in first:
        act(driver)
    trend = 1
    while driver.now < until_s:
        if driver.gear is None:
            _set_off(driver)
            trend = 1
        elif driver.gear == "R":
            stop(driver)
        else:
            trend = _trend(driver, trend)
            _next_act(driver, mix, trend)
    stop(driver)


def _trend(driver: Driver, trend: int) -> int:
    """Whether the road is getting faster (1) or slower (−1): it turns at the ends, and now and then between."""
    gears = driver.synth_car.forward_gears
    if driver.gear == gears[-1]:
        return -1
    if driver.gear == gears[0]:
        return 1
    return -trend if driver.rng.random() < 0.15 else trend


def _next_act(driver: Driver, mix: Mix, trend: int) -> None:
    rng = driver.rng
    acts = {
        "up": _up,
        "down": _down,
        "skip": _skip,
        "row": _row,
        "miss": _miss,
        "wrong": _wrong,
        "back": _back,
        "coast": _coast,
        "stop": _stop_act,
        "jump": _jump,
    }
    against = {"up": 0.15, "down": 1.0} if trend < 0 else {"up": 1.0, "down": 0.15}
    weights = np.array([getattr(mix, name) * against.get(name, 1.0) for name in acts])
    name = str(rng.choice(list(acts), p=weights / weights.sum()))
    _bend(driver)
    if rng.random() < mix.lean_share:
        _lean(driver)
    acts[name](driver, mix)


def _up(driver: Driver, mix: Mix) -> None:
    gears, rng = driver.synth_car.forward_gears, driver.rng
    index = gears.index(driver.gear)
    if index == len(gears) - 1:
        return _cruise(driver)
    _pull(driver)
    if driver.rpm_in(gears[index + 1]) > 950:
        driver.change(gears[index + 1], **draw_manner(driver, gears[index + 1], mix), throttle=rng.uniform(0.2, 0.8))


def _down(driver: Driver, mix: Mix) -> None:
    gears, rng = driver.synth_car.forward_gears, driver.rng
    index = gears.index(driver.gear)
    if index == 0:
        return _pull(driver)
    to, redline = gears[index - 1], driver.synth_car.car.redline_rpm
    least = rng.uniform(0.24, 0.4) * redline
    driver.slow(
        brake=float(rng.choice([0.0, rng.uniform(0.1, 0.4)])),
        until=lambda: driver.rpm_in(driver.gear) < least,
        longest_s=8.0,
    )
    if driver.rpm_in(to) < 0.93 * redline and driver.speed > 1.5:
        blip = rng.uniform(0.3, 0.8) if rng.random() < 0.4 else 0.0
        driver.change(to, **draw_manner(driver, to, mix), blip=blip, throttle=rng.uniform(0.05, 0.6))


def _skip(driver: Driver, mix: Mix) -> None:
    gears, rng = driver.synth_car.forward_gears, driver.rng
    index, redline = gears.index(driver.gear), driver.synth_car.car.redline_rpm
    upward = index + 2 < len(gears) and (index < 2 or rng.random() < 0.5)
    if upward:
        _pull(driver, share=0.75)
        if driver.rpm_in(gears[index + 2]) > 900:
            driver.change(gears[index + 2], **draw_manner(driver, gears[index + 2], mix), throttle=0.3)
    elif index >= 2:
        low = 0.22 * redline
        driver.slow(brake=0.25, until=lambda: driver.rpm_in(driver.gear) < low, longest_s=9.0)
        if driver.rpm_in(gears[index - 2]) < 0.9 * redline and driver.speed > 1.5:
            driver.change(gears[index - 2], **draw_manner(driver, gears[index - 2], mix), throttle=0.3)


def _row(driver: Driver, mix: Mix) -> None:
    gears, rng = driver.synth_car.forward_gears, driver.rng
    index, redline = gears.index(driver.gear), driver.synth_car.car.redline_rpm
    if index < 2:
        return _pull(driver)
    low = max(index - int(rng.integers(2, 4)), 0)
    fits = 0.8 * redline
    driver.slow(brake=0.35, until=lambda: driver.rpm_in(gears[low]) < fits, longest_s=10.0)
    if driver.rpm_in(gears[low]) < 0.95 * redline:
        driver.row(tuple(reversed(gears[low:index])), throttle=rng.uniform(0.1, 0.4))
    return None


def _miss(driver: Driver, mix: Mix) -> None:
    rng, to = driver.rng, _neighbour(driver)
    _cruise(driver)
    if to is None or driver.rpm_in(to) > 0.93 * driver.synth_car.car.redline_rpm or driver.speed < 2.0:
        return
    *pushes, last = draw_refusals(rng, int(rng.integers(1, 3)))
    pushes = (*pushes, replace(last, fall_to=rng.uniform(0.0, 0.1)))
    back = rng.random() < 0.6
    driver.miss(to, pushes=pushes, back=back, throttle=rng.uniform(0.1, 0.5))
    if not back:
        lie_in_neutral(driver, moving=True)
        _gear_for_speed(driver, mix)


def _wrong(driver: Driver, mix: Mix) -> None:
    """Into a gear that was not meant, out again within 0.8 s, and into the right one."""
    gears, rng = driver.synth_car.forward_gears, driver.rng
    index = gears.index(driver.gear)
    _cruise(driver)
    choices = [
        (w, r)
        for w, r in _mistakes(driver.synth_car.car.gate, gears, index)
        if 700 < driver.rpm_in(gears[r]) < 0.93 * driver.synth_car.car.redline_rpm
    ]
    if not choices or driver.speed < 2.0:
        return
    wrong, right = choices[int(rng.integers(len(choices)))]
    driver.change(gears[wrong], style=driver.draw_style(press=False), outcome="wrong_gear", hold_clutch=True)
    driver.wait(rng.uniform(0.16, 0.45))
    driver.change(gears[right], **draw_manner(driver, gears[right], mix), throttle=0.3)


def _mistakes(gate: object, gears: tuple[str, ...], index: int) -> list[tuple[int, int]]:
    """(wrong, right) where wrong lies one plane beside right, and leads on in the other direction."""
    pairs = []
    for right in (index - 1, index + 1):
        for wrong in range(len(gears)):
            if wrong in (index, right) or not 0 <= right < len(gears):
                continue
            beside = abs(gate.plane_of(gears[wrong]) - gate.plane_of(gears[right])) == 1
            same_end = gate.position_mm(gears[wrong])[1] * gate.position_mm(gears[right])[1] > 0
            if beside and same_end and (wrong - index) * (right - wrong) < 0:
                pairs.append((wrong, right))
    return pairs


def _back(driver: Driver, mix: Mix) -> None:
    _cruise(driver)
    dwell_s = float(driver.rng.choice([driver.rng.uniform(0.02, 0.08), driver.rng.uniform(0.35, 1.2)]))
    driver.out_and_back(dwell_s=dwell_s, throttle=driver.rng.uniform(0.1, 0.5))


def _coast(driver: Driver, mix: Mix) -> None:
    """Into neutral while rolling, and later into the gear that fits."""
    if driver.speed < 5.0:
        return _pull(driver)
    driver.into_neutral()
    lie_in_neutral(driver, moving=True)
    _gear_for_speed(driver, mix)
    return None


def _jump(driver: Driver, mix: Mix) -> None:
    if driver.gear not in driver.health.jumps or driver.speed < 4.0:
        return _cruise(driver)
    _pull(driver)
    driver.wait(driver.rng.uniform(1.0, 1.5))
    driver.into_neutral(jump=True)
    driver.let_go(least_s=driver.rng.uniform(2.3, 3.5))
    _gear_for_speed(driver, mix)
    return None


def _stop_act(driver: Driver, mix: Mix) -> None:
    stop(driver)
    stand_about(driver)


def _set_off(driver: Driver) -> None:
    driver.change("1", pushes=draw_standing_pushes(driver), throttle=driver.rng.uniform(0.35, 0.6))
    driver.drive(throttle=0.45, until=lambda: driver.speed > 3.0, longest_s=4.0)


def _gear_for_speed(driver: Driver, mix: Mix) -> None:
    """From neutral into a gear that suits the speed."""
    gears, redline = driver.synth_car.forward_gears, driver.synth_car.car.redline_rpm
    fits = [g for g in gears if 1000 < driver.rpm_in(g) < 0.85 * redline]
    if not fits:
        return stop(driver)
    to = str(driver.rng.choice(fits))
    driver.change(to, **draw_manner(driver, to, mix), throttle=driver.rng.uniform(0.1, 0.5))
    return None


def _pull(driver: Driver, *, share: float | None = None) -> None:
    rng = driver.rng
    most = (share or rng.uniform(0.4, 0.85)) * driver.synth_car.car.redline_rpm
    driver.drive(throttle=rng.uniform(0.35, 1.0), until=lambda: driver.rpm_in(driver.gear) > most, longest_s=7.0)


def _cruise(driver: Driver) -> None:
    throttle = 0.12 if driver.speed > 22 else driver.rng.uniform(0.15, 0.3)
    driver.drive(throttle=throttle, until=lambda: driver.speed > 33, longest_s=driver.rng.uniform(0.8, 3.0))


def _bend(driver: Driver) -> None:
    """A bend now and then, up to 4 m/s² sideways."""
    rng, curve = driver.rng, driver.controls.curve
    if rng.random() < 0.5 and driver.speed > 4.0:
        rate = rng.uniform(-4.0, 4.0) / driver.speed
        curve.to(rate, start_s=driver.now + 0.01, over_s=rng.uniform(0.5, 1.5))
    else:
        curve.to(0.0, start_s=driver.now + 0.01, over_s=1.0)
    driver.controls.grade.to(rng.uniform(-0.04, 0.04), start_s=driver.now + 0.01, over_s=4.0)


def _lean(driver: Driver) -> None:
    seconds = driver.rng.uniform(1.0, 3.0)
    driver.hand.lean(driver.now + 0.05, driver.gear, seconds=seconds)
    driver.drive(throttle=0.2, until=lambda: False, longest_s=seconds + 0.3)


def _neighbour(driver: Driver) -> str | None:
    gears = driver.synth_car.forward_gears
    near = [i for i in (gears.index(driver.gear) - 1, gears.index(driver.gear) + 1) if 0 <= i < len(gears)]
    return gears[int(driver.rng.choice(near))] if near else None
