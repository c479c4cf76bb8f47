"""The truth's figures that need more than the lever's path: knock, swing and clunk, felt dose, grind."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from shiftlog.model.car import NEUTRAL
from shiftlog.model.reading import Reading, measured, unmeasured
from shiftlog.model.shift import Shift
from shiftlog.synth.blow import Blow, true_knock
from shiftlog.synth.cars import SynthCar
from shiftlog.synth.ride import Ride
from shiftlog.synth.synchro import Synchro
from shiftlog.synth.true_driveline import TakeUp, driveline_readings, find_take_up
from shiftlog.synth.true_felt import felt_readings
from shiftlog.synth.true_grind import Gearbox, grind_readings
from shiftlog.synth.truth import Truth
from shiftlog.synth.vehicle import Motion
from shiftlog.synth.vibration import Events

FELT_HZ = 1000.0
"""Grid on which the felt dose is true: ten times the highest frequency that it weighs."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Undisturbed:
    """What the drive did where the recorders sit, without their errors.

    ride : the body's; felt : (n, 3) weighted, on a grid of ``FELT_HZ`` from 0, or None without a recorder there
    gearbox : as its recorder would have it, or None
    """

    ride: Ride
    felt: np.ndarray | None
    gearbox: Gearbox | None


def with_figures(
    truth: Truth, events: Events, motion: Motion, undisturbed: Undisturbed, synth_car: SynthCar, synchro: Synchro
) -> Truth:
    """The same truth with every figure that the model knows."""
    shifts = []
    for shift, after in zip(truth.shifts, [*truth.shifts[1:], None], strict=False):
        until_s = after.start_s if after else float(motion.time_s[-1])
        take_up, why = _take_up(shift, motion, until_s)
        found = [
            *_knock(shift, events.blows.get(shift.number), undisturbed.gearbox),
            *driveline_readings(shift, take_up, why, motion, undisturbed.ride.led[:, 0], synth_car),
            *_felt(shift, take_up, why, undisturbed),
            *grind_readings(shift, events.clashes.get(shift.number), undisturbed.gearbox),
        ]
        shifts.append(replace(shift, readings={**shift.readings, **{r.key: r for r in found}}))
    return replace(
        truth,
        shifts=tuple(shifts),
        grinds=tuple(sorted(events.clashes)),
        clashes=dict(events.clashes),
        slopes=_plain(synchro),
        hub_rpm=dict(events.hub_rpm),
        potholes_s=tuple(sorted(p.at_s for p in events.potholes)),
    )


def _plain(synchro: Synchro) -> Mapping[str, Mapping[str, float]]:
    return {gear: dict(ways) for gear, ways in synchro.slopes.items()}


def _take_up(shift: Shift, motion: Motion, until_s: float) -> tuple[TakeUp | None, str]:
    if shift.outcome == "missed":
        return None, "the gear did not go in"
    if shift.to_gear == NEUTRAL or shift.end_s is None:
        return None, "no gear went in"
    if shift.standing:
        return None, "the car stood still"
    return find_take_up(motion, shift.end_s, until_s), "the clutch was held"


def _knock(shift: Shift, blow: Blow | None, gearbox: Gearbox | None) -> list[Reading]:
    if blow is None or gearbox is None or shift.outcome == "missed":
        why = "no recorder at the gearbox" if gearbox is None else "no gear went in"
        return [unmeasured(key, why) for key in ("knock_peak_mps2", "knock_energy_m2s3")]
    peak, energy = true_knock(blow, shift.end_s, rate_hz=gearbox.rate_hz)
    return [measured("knock_peak_mps2", peak), measured("knock_energy_m2s3", energy)]


def _felt(shift: Shift, take_up: TakeUp | None, why: str, undisturbed: Undisturbed) -> list[Reading]:
    if undisturbed.felt is None:
        why = "no accelerometer at the body"
    span = None if take_up is None else (shift.start_s, shift.end_s)
    return felt_readings(undisturbed.felt, FELT_HZ, span, why)
