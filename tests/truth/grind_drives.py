"""Drives with clashing teeth, made apart from the synthesiser, as the measuring families get them, and their truth.

A car that is driven up and down through its gears, a lever that stands on its way in, is refused now and then, and a
gearbox that hears all of it. What is drawn anew for each drive: car, hand, road, casing, noise, recorder.
"""

from dataclasses import dataclass

import numpy as np

from shiftlog.measure.scene import Scene
from shiftlog.model.car import Car
from shiftlog.model.drive import Signals
from shiftlog.model.lever import LeverPath
from shiftlog.model.settings import Settings
from shiftlog.model.trace import Trace
from tests.truth import grind_sounds as sounds
from tests.truth import ratchet_sounds
from tests.truth.grind_course import Course, draw_course
from tests.truth.grind_truth import TrueGrind, true_grind

ROADS = ("smooth", "rough")
BOXES = {"teeth": (28, 49), "ratchet": (24, 49)}
"""Gearboxes, and the dog teeth that they may have."""
G = 9.80665


@dataclass(frozen=True, eq=False, kw_only=True)
class GrindDrive:
    """scene : as a family gets it; truths : by number of the shift."""

    scene: Scene
    truths: dict[int, TrueGrind]


def make_grind_drive(seed: int, *, road: str, minutes: float = 3.0, box: str = "teeth") -> GrindDrive:
    """One drive; the same seed, road and box give the same drive."""
    if box == "ratchet":
        return _make_ratchet_drive(seed, road=road, minutes=minutes)
    rng = np.random.default_rng([seed, ROADS.index(road), 2718])
    rate_hz = float(rng.choice([1600.0, 1600.0, 3200.0])) * rng.uniform(0.98, 1.02)
    course = draw_course(rng, minutes=minutes)
    time_s = np.arange(0, course.time_s[-1], 1 / rate_hz)
    bare = _background(course, time_s, rng, road=road, rate_hz=rate_hz)
    _add_blows(bare, course, time_s, rng, road=road, rate_hz=rate_hz)
    whole = bare.copy()
    casing = sounds.draw_structure(rng, 240.0, 900.0, count=int(rng.integers(3, 6)), damping=rng.uniform(0.02, 0.06))
    for turn in course.turns:
        for clash in turn.clashes:
            rms = rng.lognormal(np.log(4.0), 0.5)
            fine_s = np.arange(clash.start_s, clash.end_s, 1 / sounds.FINE_HZ)
            tooth_hz = np.interp(fine_s, (clash.start_s, clash.end_s), (clash.from_hz, clash.to_hz))
            sounds.draw_clash(casing, clash.start_s, tooth_hz, rng, rms=rms).add_to(whole, time_s, rate_hz=rate_hz)
    truths = {
        turn.shift.number: true_grind(turn, time_s, whole, bare, rate_hz=rate_hz, rolling=not turn.shift.standing)
        for turn in course.turns
    }
    return GrindDrive(scene=_scene(course, _record(time_s, whole, rng, rate_hz=rate_hz), rng), truths=truths)


def _make_ratchet_drive(seed: int, *, road: str, minutes: float) -> GrindDrive:
    rng = np.random.default_rng([seed, ROADS.index(road), 31415])
    rate_hz = float(rng.choice([1600.0, 1600.0, 3200.0, 6400.0])) * rng.uniform(0.985, 1.015)
    course = draw_course(rng, minutes=minutes, teeth=BOXES["ratchet"], grinds_s=(0.03, 0.4))
    time_s = np.arange(0, course.time_s[-1], 1 / rate_hz)
    bare = np.zeros((time_s.size, 3))
    courses = {"rpm": course.rpm, "speed": course.speed_mps, "pull": course.pull}
    courses = {name: np.interp(time_s, course.time_s, values) for name, values in courses.items()}
    ratchet_sounds.add_background(bare, time_s, courses, rng, rough=road == "rough")
    _add_strikes(bare, course, time_s, rng, rate_hz=rate_hz)
    if road == "rough":
        for at_s in _draw_blow_times(course, time_s, rng):
            speed = float(np.interp(at_s, course.time_s, course.speed_mps))
            for burst in ratchet_sounds.draw_road_blow(at_s, speed, rng) if speed > 2 else ():
                burst.add_to(bare, time_s, rate_hz=rate_hz)
    whole = bare.copy()
    top_hz = min(1500.0, 0.38 * rate_hz)
    casing = sounds.draw_structure(rng, 300.0, top_hz, count=int(rng.integers(2, 6)), damping=rng.uniform(0.015, 0.06))
    for turn in course.turns:
        for clash in turn.clashes:
            fine_s = np.arange(clash.start_s, clash.end_s, 1 / sounds.FINE_HZ)
            tooth_hz = np.interp(fine_s, (clash.start_s, clash.end_s), (clash.from_hz, clash.to_hz))
            ratchet_sounds.draw_ratchet(
                casing, clash.start_s, tooth_hz, rng, teeth=course.car.dog_teeth[turn.shift.to_gear],
                rms=rng.lognormal(np.log(ratchet_sounds.CLASH_RMS_MPS2), 0.6),
            ).add_to(whole, time_s, rate_hz=rate_hz)  # fmt: skip
    truths = {
        turn.shift.number: true_grind(turn, time_s, whole, bare, rate_hz=rate_hz, rolling=not turn.shift.standing)
        for turn in course.turns
    }
    return GrindDrive(scene=_scene(course, _record(time_s, whole, rng, rate_hz=rate_hz), rng), truths=truths)


def _background(
    course: Course, time_s: np.ndarray, rng: np.random.Generator, *, road: str, rate_hz: float
) -> np.ndarray:
    """Gears, engine and road with nothing struck, (n, 3)."""
    rpm, speed, pull = (np.interp(time_s, course.time_s, x) for x in (course.rpm, course.speed_mps, course.pull))
    rough = rng.uniform(0.8, 2.0) if road == "rough" else rng.uniform(0.05, 0.35)
    patches = sounds.draw_patches(time_s, rng, spread_db=4.0 if road == "rough" else 1.0, lasts_s=rng.uniform(0.2, 1.5))
    roads = sounds.draw_noise(time_s.size, rng, rate_hz=rate_hz, tilt=rng.uniform(1.0, 2.2), humps_hz=np.zeros(0) + 60)
    total = roads * (rough * patches * (speed / 15) ** rng.uniform(0.7, 1.5))[:, None]
    gears = sounds.draw_noise(
        time_s.size, rng, rate_hz=rate_hz, tilt=rng.uniform(0.0, 1.0), humps_hz=rng.uniform(150, 600, 3)
    )
    under_load = 1 + rng.uniform(0, 0.6) * (pull - 1)
    total += gears * (rng.uniform(0.15, 0.5) * (rpm / 3000) ** rng.uniform(0.6, 2.0) * under_load)[:, None]
    turns = np.cumsum(rpm / 60) / rate_hz
    orders = tuple(rng.choice([2, 3]) * np.array([1, 2, 3, 4, 6])) + (0.5, 1.0, 1.5)
    total += sounds.sum_tones(turns, rng.uniform(0.1, 0.5) * (rpm / 3000) ** 2, rng, orders=orders)
    wheels = np.cumsum(speed) / rate_hz / (2 * np.pi * 0.3)
    teeth = rng.uniform(15, 70)
    whine = rng.uniform(0.1, 1.0) * np.where(pull > 0.5, 1.0, 0.05)
    total += sounds.sum_tones(wheels * 4.0, whine, rng, orders=(teeth / 4, teeth / 2))
    if road == "rough" and rng.random() < 0.35:
        total += sounds.draw_rattle(time_s, roads[:, 2] * patches * speed, rng, size=rng.uniform(0.3, 1.0))
    return total


def _add_blows(
    bare: np.ndarray, course: Course, time_s: np.ndarray, rng: np.random.Generator, *, road: str, rate_hz: float
) -> None:
    """Dogs that go in and come out, the cone's first touch, and holes in the road."""
    _add_strikes(bare, course, time_s, rng, rate_hz=rate_hz)
    if road == "smooth":
        return
    for at_s in _draw_blow_times(course, time_s, rng):
        speed = float(np.interp(at_s, course.time_s, course.speed_mps))
        if speed > 2:
            for burst in sounds.draw_hole(at_s, min(2.6 / speed, 0.4), rng, size=rng.uniform(3, 14)):
                burst.add_to(bare, time_s, rate_hz=rate_hz)


def _add_strikes(
    bare: np.ndarray, course: Course, time_s: np.ndarray, rng: np.random.Generator, *, rate_hz: float
) -> None:
    """Dogs that go in and come out, and the cone's first touch."""
    dogs = sounds.draw_structure(rng, 70.0, 600.0, count=5, damping=0.05)
    for turn in course.turns:
        leaves = [] if turn.shift.standing else [(turn.shift.start_s - 0.01, rng.uniform(0.2, 2.0))]
        strikes = leaves + [(at_s, rng.uniform(0.2, 1.5)) for at_s in turn.touches_s]
        if turn.shift.end_s is not None:
            strikes.append((turn.shift.end_s + rng.uniform(-0.008, 0.004), rng.lognormal(2.2, 0.6)))
        for at_s, peak in strikes:
            sounds.draw_blow(dogs, at_s, rng, peak=peak, width_s=0.002).add_to(bare, time_s, rate_hz=rate_hz)


def _draw_blow_times(course: Course, time_s: np.ndarray, rng: np.random.Generator) -> list[float]:
    """Eight in a minute, and one at a quarter of the shifts."""
    holes = list(rng.uniform(0, time_s[-1], rng.poisson(8 * time_s[-1] / 60)))
    return holes + [
        turn.window_s[1] - rng.uniform(-0.02, 0.3) for turn in course.turns if turn.window_s and rng.random() < 0.25
    ]


def _record(time_s: np.ndarray, whole: np.ndarray, rng: np.random.Generator, *, rate_hz: float) -> Trace:
    """A sensor with its own noise, axes, steps and range; its stamps jitter, some of it really at other instants."""
    limit = G * float(rng.choice([16.0, 16.0, 16.0, 8.0]))
    turn = np.linalg.qr(rng.normal(0, 1, (3, 3)))[0]
    taken_s = time_s + rng.uniform(0, 0.1) / rate_hz * rng.normal(0, 1, time_s.size)
    taken_s = np.maximum.accumulate(np.clip(taken_s, time_s - 0.4 / rate_hz, time_s + 0.4 / rate_hz))
    felt = np.stack([np.interp(taken_s, time_s, whole[:, k]) for k in range(3)], axis=1)
    felt[:, 2] += G
    felt = (felt * (1 + rng.normal(0, 0.02, 3))) @ turn.T + rng.normal(0, 0.2, 3)
    felt = felt + rng.uniform(0.02, 0.1) * rng.normal(0, 1, felt.shape)
    step = limit / 32768
    values = np.clip(np.round(felt / step) * step, -limit, limit - step)
    clipped = np.any((values <= -limit) | (values >= limit - step), axis=1)
    return Trace(
        time_s=taken_s, values=values, spans=((float(taken_s[0]), float(taken_s[-1])),), rate_hz=rate_hz,
        recording="gearbox log", place="gearbox", clipped=clipped if clipped.any() else None,
    )  # fmt: skip


def _scene(course: Course, accel: Trace, rng: np.random.Generator) -> Scene:
    lever_hz = float(rng.choice([200.0, 250.0, 500.0]))
    lever_s = np.arange(0, course.time_s[-1], 1 / lever_hz)
    depth = np.interp(lever_s, course.lever_s, course.depth) + 0.003 * rng.normal(0, 1, lever_s.size)
    path = LeverPath(
        time_s=lever_s, select_mm=0 * lever_s, engage_mm=15 * depth, engage_mmps=np.gradient(15 * depth, lever_s),
        still_mmps=0 * lever_s, depth=depth, gear=np.zeros(lever_s.size, int), gears=("3",), seat_mm=np.array([15.0]),
        zero_u_mm=np.zeros(1),
        valid=np.ones(lever_s.size, bool), rate_hz=lever_hz, noise_mm=0.05,
    )  # fmt: skip
    closed = (course.pull > 0.5) | (course.time_s < course.rolls_s - 1.0)
    clutch = (~closed).astype(float) if rng.random() < 0.5 else None
    signals = Signals(
        accel={"gearbox": accel},
        engine_speed=_slow(course.time_s, course.rpm + rng.normal(0, 8, course.rpm.size), rng.choice([10.0, 20.0, 50])),
        vehicle_speed=_slow(course.time_s, course.speed_mps, rng.choice([5.0, 10.0, 20.0])),
        clutch=None if clutch is None else _slow(course.time_s, clutch, 50.0),
    )
    car: Car = course.car
    return Scene(
        signals=signals, car=car, path=path, settings=Settings(), shifts=tuple(turn.shift for turn in course.turns),
        rpm_per_mps={gear: car.rpm_per_mps(gear) for gear in car.ratios},
    )  # fmt: skip


def _slow(time_s: np.ndarray, values: np.ndarray, rate_hz: float) -> Trace:
    at_s = np.arange(0, time_s[-1], 1 / rate_hz)
    return Trace(
        time_s=at_s, values=np.interp(at_s, time_s, values), spans=((0.0, float(at_s[-1])),), rate_hz=float(rate_hz),
        recording="bus log", place="engine",
    )  # fmt: skip
