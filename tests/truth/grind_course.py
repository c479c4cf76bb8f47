"""How a car is driven up and down through its gears: speeds, lever, and which teeth clash."""

from dataclasses import dataclass, field

import numpy as np
from scipy.ndimage import uniform_filter1d

from shiftlog.model.car import Car
from shiftlog.model.shift import Shift

STEP_S = 0.005
LEVER_STEP_S = 0.001
IDLE_RPM = 850.0
RUN_SHARE = 0.35
"""Of the shifts into a gear that grinds, so many do not."""


@dataclass(frozen=True, kw_only=True)
class Clash:
    """Teeth in touch from ``start_s`` to ``end_s``, passing at ``from_hz`` falling to ``to_hz``."""

    start_s: float
    end_s: float
    from_hz: float
    to_hz: float


@dataclass(eq=False, kw_only=True)
class Turn:
    """One shift: knots of the lever's depth, pushes (touch, release), clashes; window_s where the definition looks."""

    shift: Shift
    knots: list[tuple[float, float]]
    touches_s: list[float]
    clashes: list[Clash] = field(default_factory=list)
    window_s: tuple[float, float] | None = None


@dataclass(frozen=True, eq=False, kw_only=True)
class Course:
    """time_s, rpm, speed_mps, pull (n,): 1 under drive, 0 with the clutch open; lever_s, depth (m,); rolls_s."""

    car: Car
    time_s: np.ndarray
    rpm: np.ndarray
    speed_mps: np.ndarray
    pull: np.ndarray
    lever_s: np.ndarray
    depth: np.ndarray
    turns: list[Turn]
    rolls_s: float


def draw_car(rng: np.random.Generator, *, teeth: tuple[int, int] = (28, 49)) -> Car:
    """Five or six gears and reverse, hubs on either shaft, dog teeth from the first number to below the second."""
    count = int(rng.choice([5, 6]))
    ratios = {str(k + 1): float(r) for k, r in enumerate(rng.uniform(3.2, 3.8) * np.geomspace(1, 0.2, count))}
    ratios["R"] = ratios["1"] * 0.95
    hubs = {gear: ("input" if int(gear) > 2 and rng.random() < 0.4 else "output") for gear in ratios if gear != "R"}
    return Car(
        name="drawn", gate=None, ratios=ratios, final_drive=dict.fromkeys(ratios, float(rng.uniform(3.4, 4.4))),
        rolling_radius_m=0.3, dog_teeth={gear: int(rng.integers(*teeth)) for gear in ratios}, hub=hubs,
    )  # fmt: skip


def draw_course(
    rng: np.random.Generator,
    *,
    minutes: float,
    teeth: tuple[int, int] = (28, 49),
    grinds_s: tuple[float, float] = (0.03, 0.2),
) -> Course:
    """Two tries of reverse standing, then a walk through the gears; clashes last within ``grinds_s``."""
    car = draw_car(rng, teeth=teeth)
    tops = [gear for gear in car.ratios if gear != "R"]
    worn = set(rng.choice(tops[1:], 2, replace=False)) | ({"R"} if rng.random() < 0.5 else set())
    turns = [_stand(1, 4.0, car, rng, worn, grinds_s), _stand(2, 10.0, car, rng, worn, grinds_s)]
    rolls_s, at_s, gear, up = 16.0, 20.0, 1, True
    speeds, gears = [(0.0, 0.0), (rolls_s, 0.0)], [(rolls_s, "1")]
    while at_s < minutes * 60 - 4:
        up = (up and gear < len(tops)) or gear == 2 or (gear == 1) or (rng.random() < 0.15 and gear < len(tops))
        to = gear + 1 if up else gear - 1
        rpm = rng.uniform(2200, 5200) if up else rng.uniform(1500, 3000)
        speed = rpm / car.rpm_per_mps(str(gear))
        at_s += max(rng.uniform(2.5, 6.0), abs(speed - speeds[-1][1]) / 2.5)
        turn = _roll(len(turns) + 1, at_s, (str(gear), str(to)), car, speed, rng, worn, grinds_s)
        turns.append(turn)
        last_s = turn.knots[-1][0]
        speeds += [(at_s - 0.2, speed), (last_s + 0.3, speed * rng.uniform(0.97, 1.0))]
        if turn.shift.outcome != "missed":
            gears.append((last_s, str(to)))
            gear = to
        at_s = last_s
    return _join(car, turns, np.array(speeds), gears, rolls_s, at_s + 4.0, rng)


def _join(car, turns, speeds, gears, rolls_s, until_s, rng) -> Course:
    time_s = np.arange(0, until_s, STEP_S)
    speed = np.interp(time_s, speeds[:, 0], speeds[:, 1])
    index = np.searchsorted([g[0] for g in gears], time_s, side="right") - 1
    tied = speed * np.array([car.rpm_per_mps(gears[max(k, 0)][1]) for k in index])
    rpm, pull = np.maximum(np.where(index >= 0, tied, IDLE_RPM), IDLE_RPM), (time_s > rolls_s).astype(float)
    for turn in turns:
        first_s, last_s = turn.shift.start_s - 0.12, turn.knots[-1][0] + 0.25
        open_now = (time_s >= first_s) & (time_s <= last_s)
        pull[open_now] = 0.0
        if turn.shift.standing:
            continue
        ends = np.interp((first_s, last_s), time_s, rpm)
        blip = rng.uniform(0.1, 0.4) if ends[1] > ends[0] and rng.random() < 0.5 else 0.0
        along = (time_s[open_now] - first_s) / (last_s - first_s)
        rpm[open_now] = ends[0] + (ends[1] - ends[0]) * along + blip * ends.max() * np.sin(np.pi * along)
    lever_s = np.arange(0, until_s, LEVER_STEP_S)
    knots = [(0.0, 0.0)] + [knot for turn in turns if turn.shift.standing for knot in turn.knots]
    knots += [(rolls_s - 1.0, 0.0), (rolls_s - 0.8, 1.0)]
    knots += [knot for turn in turns if not turn.shift.standing for knot in turn.knots]
    depth = uniform_filter1d(np.interp(lever_s, *zip(*knots, strict=True)), 12)
    for turn in turns:
        _fix(turn, lever_s, depth)
    return Course(
        car=car, time_s=time_s, rpm=uniform_filter1d(rpm, 8), speed_mps=speed, pull=uniform_filter1d(pull, 8),
        lever_s=lever_s, depth=depth, turns=turns, rolls_s=rolls_s,
    )  # fmt: skip


def _roll(number, at_s, gears, car, speed, rng, worn, grinds_s) -> Turn:
    """From one gear into the next; refused now and then, sometimes given up."""
    refusals = int(rng.random() < 0.12)
    missed = refusals and rng.random() < 0.4
    out_s = at_s + rng.uniform(0.05, 0.12)
    knots, now = [(at_s, 1.0), (out_s, 0.0)], out_s + rng.uniform(0.04, 0.2)
    ratio = car.ratios[gears[1]]
    apart = speed * (car.rpm_per_mps(gears[0]) - car.rpm_per_mps(gears[1])) - rng.uniform(150, 900) * (now - out_s)
    hub = car.hub.get(gears[1], "output")
    first_hz = car.dog_teeth[gears[1]] * abs(apart) / (1 if hub == "input" else ratio) / 60
    grinds = gears[1] in worn and rng.random() > RUN_SHARE
    touches, clashes = [], []
    for go in range(refusals + 1):
        now = _push(
            knots, touches, clashes, now, first_hz, rng, grinds=grinds, refused=go < refusals, grinds_s=grinds_s
        )
        first_hz = clashes[-1].to_hz if clashes else first_hz
        if missed:
            break
    if missed:
        knots += [(now + 0.1, 0.0), (now + 0.2, 1.0)]
    shift = Shift(
        number=number, from_gear=gears[0], to_gear=gears[1], start_s=at_s, end_s=None, seen_by="lever",
        outcome="missed" if missed else "second_push" if refusals else "clean", standing=False,
    )  # fmt: skip
    return Turn(shift=shift, knots=knots, touches_s=touches, clashes=clashes)


def _push(knots, touches, clashes, now, first_hz, rng, *, grinds, refused, grinds_s) -> float:
    """In to where the lever stands, there for a while, then home or back: when it is over."""
    stands_at, in_s = rng.uniform(0.42, 0.6), now + rng.uniform(0.03, 0.09)
    stand_s = rng.uniform(0.0, 0.18)
    if grinds and first_hz > 90:
        stand_s = max(stand_s, rng.uniform(*grinds_s))
        start_s = in_s - rng.uniform(0.0, 0.008)
        to_hz = max(first_hz * rng.uniform(0.15, 0.9), 40.0)
        clashes.append(Clash(start_s=start_s, end_s=in_s + stand_s, from_hz=first_hz, to_hz=to_hz))
    knots += [(now, 0.0), (in_s, stands_at), (in_s + stand_s, stands_at + 0.02)]
    touches.append(in_s - 0.005)
    if refused:
        knots.append((in_s + stand_s + 0.06, 0.0))
        return in_s + stand_s + 0.06 + rng.uniform(0.05, 0.2)
    end_s = in_s + stand_s + rng.uniform(0.03, 0.06)
    knots.append((end_s, 1.0))
    return end_s


def _stand(number, at_s, car, rng, worn, grinds_s) -> Turn:
    """Reverse at standstill, out of neutral, while the shaft still turns; back out two seconds later."""
    knots, touches, clashes = [], [], []
    first_hz = car.dog_teeth["R"] * IDLE_RPM * rng.uniform(0.8, 1.0) / car.ratios["R"] / 60
    now = _push(knots, touches, clashes, at_s, first_hz, rng, grinds="R" in worn, refused=False, grinds_s=grinds_s)
    knots += [(now + 2.0, 1.0), (now + 2.1, 0.0)]
    shift = Shift(
        number=number, from_gear="N", to_gear="R", start_s=at_s, end_s=now, seen_by="lever", outcome="clean",
        standing=True,
    )  # fmt: skip
    return Turn(shift=shift, knots=knots, touches_s=touches, clashes=clashes)


def _fix(turn: Turn, lever_s: np.ndarray, depth: np.ndarray) -> None:
    """The shift's instants and the window of the definition, from the lever's true way."""
    shift, standing = turn.shift, turn.shift.standing
    last_s = turn.knots[-3 if standing else -1][0] + 0.02
    first = np.searchsorted(lever_s, turn.knots[0][0] - 0.02)
    part = depth[first : np.searchsorted(lever_s, last_s)]
    home = int(np.flatnonzero(part < 0.1)[0]) if not standing else 0
    touch = home + int(np.flatnonzero(part[home:] >= 0.2)[0])
    rises = np.flatnonzero((part[1:] >= 0.9) & (part[:-1] < 0.9))
    values = {"end_s": float(lever_s[first + rises[-1]])}
    if standing:
        values["start_s"] = float(lever_s[first + np.flatnonzero(part >= 0.1)[0]])
    else:
        values["start_s"] = float(lever_s[first + np.flatnonzero(part < 0.9)[0]])
        values["out_s"] = float(lever_s[first + np.flatnonzero(part < 0.5)[0]])
    values["entered_s"] = float(lever_s[first + np.flatnonzero((part[1:] >= 0.1) & (part[:-1] < 0.1))[-1]])
    values["in_s"] = float(lever_s[first + np.flatnonzero((part[1:] >= 0.5) & (part[:-1] < 0.5))[-1]])
    if shift.outcome == "missed":
        falls = np.flatnonzero((part[1:] < 0.2) & (part[:-1] >= 0.2))
        turn.window_s = (float(lever_s[first + touch]), float(lever_s[first + falls[-1]]))
    else:
        turn.window_s = (float(lever_s[first + touch]), values["end_s"] - 0.01)
    turn.shift = Shift(**{**shift.__dict__, **values})
