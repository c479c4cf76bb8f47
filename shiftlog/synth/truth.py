"""The truth of a synthesised drive, by the definitions, from the model's own noise-free path."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from shiftlog.model.car import NEUTRAL
from shiftlog.model.reading import measured
from shiftlog.model.rest import Rest
from shiftlog.model.shift import Shift
from shiftlog.synth.clash import Clash
from shiftlog.synth.driver import Driver
from shiftlog.synth.lever import LeverPath
from shiftlog.synth.path import PATH_RATE_HZ
from shiftlog.synth.scene import Scene
from shiftlog.synth.script import JourneyScript, RestScript
from shiftlog.synth.true_gap import true_gap
from shiftlog.synth.true_rest import true_rests
from shiftlog.synth.true_shift import true_shift
from shiftlog.synth.vehicle import Motion


@dataclass(frozen=True, eq=False, kw_only=True)
class Truth:
    """What really happened, in drive time and gate mm.

    shifts, rests : with the readings that the model knows; how_rested : for each rest the model's own word
    (``ran``, ``left``, ``guided``, ``held``), which tells more than ``released`` can
    rock_mm : greatest engine rock of the drive; origin_mm : the gate's origin in the lever's own path
    crashed : numbers of the shifts that were pushed through a cone that no longer grips
    grinds : numbers of the shifts in which teeth clashed; clashes : each by its number, its tone's true track included
    slopes : ms a cone takes for 1,000 rpm at its hub, by gear and direction (``up``, ``down``)
    hub_rpm : difference in speed at the hub as the new gear is first touched, by shift number
    potholes_s : when a wheel hit something
    """

    shifts: tuple[Shift, ...]
    rests: tuple[Rest, ...]
    how_rested: tuple[str, ...]
    rock_mm: float
    origin_mm: tuple[float, float]
    duration_s: float
    crashed: tuple[int, ...] = ()
    grinds: tuple[int, ...] = ()
    clashes: Mapping[int, Clash] = field(default_factory=dict)
    slopes: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    hub_rpm: Mapping[int, float] = field(default_factory=dict)
    potholes_s: tuple[float, ...] = ()


def read_truth(driver: Driver, lever: LeverPath, motion: Motion) -> Truth:
    """Everything the model knows of the drive."""
    seats = {g: driver.hand.seat(g) for g in driver.synth_car.car.gate.gears}
    origin = _common_shift(driver.journeys, seats, lever)
    scene = Scene(
        car=driver.synth_car.car,
        seats=seats,
        time_s=lever.time_s,
        path=lever.path - origin,
        steady=lever.steady - origin,
        motion=motion,
    )
    shifts = _true_shifts(scene, driver.journeys)
    stays = _neutral_stays(driver.journeys, shifts, scene)
    rests, how = true_rests(scene, stays, _with_start(driver.rests), driver.marks)
    return Truth(
        shifts=shifts,
        rests=rests,
        how_rested=how,
        rock_mm=float(np.abs(lever.rock_mm).max()),
        origin_mm=(float(origin[0]), float(origin[1])),
        duration_s=float(lever.time_s[-1]),
        crashed=tuple(n for n, journey in enumerate(driver.journeys, start=1) if journey.crashed),
    )


def _common_shift(journeys: list[JourneyScript], seats: dict[str, tuple[float, float]], lever: LeverPath) -> np.ndarray:
    """How far the mean in-gear place lies from the seats: rock under drive is common to all gears, and the
    neutral line is by definition midway between the places where the lever was in gear."""
    stays: dict[str, list[np.ndarray]] = {}
    for journey, after in zip(journeys, [*journeys[1:], None], strict=False):
        gear = journey.from_gear if journey.kind in ("back", "same") else journey.to_gear
        if gear == "N" or journey.kind == "stuck":
            continue
        first = int((journey.settle_s + 0.05) * PATH_RATE_HZ)
        last = int((after.begin_s if after else lever.time_s[-1]) * PATH_RATE_HZ)
        stays.setdefault(gear, []).append(lever.steady[first:last])
    shifts = [np.median(np.concatenate(s), axis=0) - np.array(seats[g]) for g, s in stays.items()]
    return np.mean(shifts, axis=0) if shifts else np.zeros(2)


def _true_shifts(scene: Scene, journeys: list[JourneyScript]) -> tuple[Shift, ...]:
    shifts: list[Shift] = []
    for index, journey in enumerate(journeys):
        before_s = 0.0 if not shifts else shifts[-1].end_s or journeys[index - 1].settle_s
        after_s = journeys[index + 1].begin_s if index + 1 < len(journeys) else float(scene.time_s[-1])
        shifts.append(true_shift(scene, journey, number=index + 1, before_s=before_s, after_s=after_s))
    return tuple(_with_gap(shift, scene.motion) for shift in shifts)


def _with_gap(shift: Shift, motion: Motion) -> Shift:
    if shift.end_s is None or shift.standing or NEUTRAL in (shift.from_gear, shift.to_gear):
        return shift
    gap = true_gap(motion, shift.start_s, shift.end_s)
    if gap is None:
        return shift
    reading = measured("drive_gap_s", gap[1] - gap[0])
    return replace(shift, gap=gap, readings={**shift.readings, reading.key: reading})


def _neutral_stays(journeys: list[JourneyScript], shifts: tuple[Shift, ...], scene: Scene) -> list[tuple[float, float]]:
    """Stays in neutral between journeys, the drive's beginning and end included."""
    stays, since = [], 0.0
    for journey, shift in zip(journeys, shifts, strict=True):
        if since is not None:
            stays.append((since, shift.start_s))
        ends_in_neutral = journey.kind in ("neutral", "stuck")
        since = journey.settle_s if ends_in_neutral else None
    return stays if since is None else [*stays, (since, float(scene.time_s[-1]))]


def _with_start(rests: list[RestScript]) -> list[RestScript]:
    """The lever lies somewhere when the log begins; nobody saw how it came there."""
    first = min((r.start_s for r in rests), default=1e9)
    return [RestScript(start_s=0.0, end_s=min(first, 4.0), how="left"), *rests]
