"""What shakes gearbox and body: the road, tones that turn, bearings, blows of the dogs, clashing teeth, potholes."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from scipy import signal

from shiftlog.model.shift import Shift
from shiftlog.synth.blow import Blow, draw_blow, heard_by
from shiftlog.synth.cars import SynthCar
from shiftlog.synth.clash import Clash, Push, draw_clash, follow_shafts
from shiftlog.synth.health import Health
from shiftlog.synth.lever import LeverPath
from shiftlog.synth.path import ENGAGE, PATH_RATE_HZ
from shiftlog.synth.ride import HONEST_SHARE, Ride, to_unit
from shiftlog.synth.shocks import Pothole, Rattle, draw_potholes
from shiftlog.synth.synchro import Synchro
from shiftlog.synth.tones import Tones
from shiftlog.synth.truth import Truth
from shiftlog.synth.vehicle import Motion

BRACKET_SHARE = 0.1
"""What a bracket at the gearbox shakes on its own, as a share of the road's shaking (common practice, no source)."""
CLASH_SHARE = 0.6
"""Share of the slower pushes into a gear that grinds in which it does (a worn cone does not fail every time)."""
SHORTEST_S = 0.005
"""A push that is through in this time leaves teeth none to clash."""
THROUGH_BODY = 0.08
"""What the body feels of a blow at the gearbox, through its mounts (common practice, no source)."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Events:
    """Everything sudden on a drive: blows and clashes by shift number, potholes; ``hub_rpm``: the difference in speed
    at first touch, by shift number."""

    blows: Mapping[int, Blow]
    clashes: Mapping[int, Clash]
    potholes: tuple[Pothole, ...]
    hub_rpm: Mapping[int, float]


def draw_events(
    truth: Truth,
    lever: LeverPath,
    motion: Motion,
    synth_car: SynthCar,
    health: Health,
    synchro: Synchro,
    *,
    road: str,
    rng: np.random.Generator,
) -> Events:
    """Blows as hard as the hand was fast; clashes where a gear grinds; potholes as the road has them."""
    blows, clashes, hub_rpm, own = {}, {}, {}, rng.spawn(1)[0]
    for shift in truth.shifts:
        if shift.end_s is not None and shift.to_gear != "N" and shift.outcome != "to_neutral":
            hard = (shift.value("approach_speed_mmps") or 200.0) / 250.0
            size = health.knock_mps2 * hard**0.7 * rng.lognormal(0, 0.25)
            blows[shift.number] = draw_blow(shift.end_s + rng.uniform(-0.001, 0.006), size, rng)
        push = _push(shift, truth, lever, synth_car, own)
        if push is None:
            continue
        shafts = follow_shafts(shift, push, motion, synth_car, synchro, grip=_grip(shift, truth, health, own))
        hub_rpm[shift.number] = float(shafts.hub_rpm[0])
        if _clashes(shift, truth, health, own):
            clash = draw_clash(shift, push, shafts, motion, synth_car, own)
            clashes |= {shift.number: clash} if clash else {}
    potholes = draw_potholes(truth, np.abs(motion.speed_mps), motion.time_s, road=road, rng=rng)
    return Events(blows=blows, clashes=clashes, potholes=potholes, hub_rpm=hub_rpm)


def _push(shift: Shift, truth: Truth, lever: LeverPath, synth_car: SynthCar, rng: np.random.Generator) -> Push | None:
    """The lever's way into the gear that was meant, from first touch to the dogs' going in or the last fall-back."""
    if shift.to_gear == "N" or shift.outcome in ("to_neutral", "jumped_out", "out_and_back"):
        return None
    begin_s = shift.start_s if shift.out_s is None else shift.out_s
    last_s = shift.end_s if shift.end_s is not None else shift.start_s + 4.0
    span = slice(int(begin_s * PATH_RATE_HZ), int(last_s * PATH_RATE_HZ) + 1)
    seat = synth_car.car.gate.position_mm(shift.to_gear)
    place = lever.steady[span] - truth.origin_mm
    beside = np.abs(place[:, 0] - seat[0]) < synth_car.car.gate.plane_pitch_mm / 2
    depth = np.where(beside, place[:, ENGAGE] / seat[1], 0.0)
    inside = np.flatnonzero(depth >= 0.2)
    if not inside.size or depth.max() < 0.3:
        return None
    refused = shift.outcome == "missed"
    until_s = lever.time_s[span][inside[-1]] if refused else shift.end_s - rng.uniform(0.010, 0.020)
    if until_s - lever.time_s[span][inside[0]] < SHORTEST_S:
        return None
    return Push(time_s=lever.time_s[span][inside[0] :], depth=depth[inside[0] :], until_s=float(until_s))


def _clashes(shift: Shift, truth: Truth, health: Health, rng: np.random.Generator) -> bool:
    drawn = rng.random()
    if shift.standing:
        return shift.to_gear == "R" and drawn < health.reverse_grinds
    return shift.to_gear in health.grinds and (shift.number in truth.crashed or drawn < CLASH_SHARE)


def _grip(shift: Shift, truth: Truth, health: Health, rng: np.random.Generator) -> float:
    """How much of its own slope a cone holds: one that grinds loses most of it, and more when it is crashed through."""
    drawn = rng.uniform(0.3, 0.7)
    if shift.to_gear not in health.grinds:
        return 1.0
    return 0.5 * drawn if shift.number in truth.crashed else drawn


def shake_gearbox(
    time_s: np.ndarray,
    motion: Motion,
    ride: Ride,
    tones: Tones,
    rattle: Rattle | None,
    synth_car: SynthCar,
    events: Events,
    *,
    rate_hz: float,
    rng: np.random.Generator,
) -> tuple[np.ndarray, np.ndarray]:
    """Acceleration at the gearbox in vehicle axes at the recorder's instants: all of it (n, 3), and without the
    clashes (n, 3) [m/s²]."""
    bare = ride.felt(time_s, motion, rate_hz=rate_hz)
    bare += BRACKET_SHARE * ride.shaking.std(axis=0) * rng.normal(0, 1, bare.shape)
    bare += tones.felt(time_s, motion, synth_car, rate_hz=rate_hz)
    bare += _rumble(time_s, motion, rate_hz=rate_hz, rng=rng)
    for blow in events.blows.values():
        where, added = heard_by(blow, time_s, rate_hz=rate_hz)
        bare[where] += added
    _add_shocks(bare, time_s, events, rattle, rate_hz=rate_hz, share=0.6)
    whole = bare.copy()
    for clash in events.clashes.values():
        where, added = clash.heard(time_s, rate_hz=rate_hz)
        whole[where] += added
    return whole, bare


def shake_body(
    time_s: np.ndarray,
    motion: Motion,
    ride: Ride,
    tones: Tones,
    rattle: Rattle | None,
    synth_car: SynthCar,
    events: Events,
    *,
    rate_hz: float,
) -> np.ndarray:
    """Acceleration at the body in vehicle axes at any instants, as a recorder of that rate has it, (n, 3) [m/s²]."""
    total = ride.felt(time_s, motion, rate_hz=rate_hz)
    total += 0.15 * tones.felt(time_s, motion, synth_car, rate_hz=rate_hz)
    for blow in events.blows.values():
        where, added = heard_by(blow, time_s, rate_hz=rate_hz)
        total[where] += THROUGH_BODY * added
    for clash in events.clashes.values():
        where, added = clash.heard(time_s, rate_hz=rate_hz)
        total[where] += THROUGH_BODY * added
    _add_shocks(total, time_s, events, rattle, rate_hz=rate_hz, share=1.0)
    return total


def _rumble(time_s: np.ndarray, motion: Motion, *, rate_hz: float, rng: np.random.Generator) -> np.ndarray:
    """Broad noise of gears and bearings, 60 Hz and up, growing with engine speed."""
    level = 0.15 + 0.25 * np.interp(time_s, motion.time_s, motion.engine_rpm) / 3000
    top = min(500.0, HONEST_SHARE * rate_hz)
    sos = signal.butter(2, (60.0, top), "bandpass", fs=rate_hz, output="sos")
    return level[:, None] * to_unit(signal.sosfilt(sos, rng.normal(0, 1, (time_s.size, 3)), axis=0))


def _add_shocks(
    total: np.ndarray, time_s: np.ndarray, events: Events, rattle: Rattle | None, *, rate_hz: float, share: float
) -> None:
    for pothole in events.potholes:
        where, added = pothole.felt(time_s, rate_hz=rate_hz)
        total[where] += share * added
    if rattle is not None:
        total += share * rattle.felt(time_s, rate_hz=rate_hz)
