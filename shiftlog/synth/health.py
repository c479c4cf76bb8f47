"""How well a gearbox and its lever are: what a synthesised car suffers from."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from shiftlog.synth.cars import SynthCar
from shiftlog.synth.rest_motion import Spring

NO_SPRING_MM = 500.0
"""Friction band of a lever without a home spring: wider than any gate, it stays where it is let go."""

TYPICAL_KRPM = 0.9
"""Speed difference at the hub of a usual shift: a car whose levers stand as long as ``stand_s`` says has its slope."""
WORN_STEEPER = 1.7


@dataclass(frozen=True, eq=False, kw_only=True)
class Health:
    """Everything about wear that the lever shows.

    seat_off_mm : (select, engage) by gear, from the lattice; spring : the select spring, friction and all
    rock_mm : engine rock at the lever under full torque in a low gear; rock_hz, rock_damping : its swing
    rock_select : how much of it goes across the gate; shake_mm : idle shake
    slack_mm : play in a slot; baulk_share, refuse_share : of shifts; gear_trouble : factor on both, by gear
    stand_s : (low, high) of how long a baulk lasts, which sets how steep cones are that ``synchro`` does not name
    synchro : ms a cone takes for 1,000 rpm at its hub, by gear and direction (``up``, ``down``)
    knock_mps2 : blow at 250 mm/s of approach
    grinds : gears that clash; reverse_grinds : share of going into reverse at standstill that does
    rattle_mps2 : a trim that rattles, r.m.s. over the drive; jumps : gears that jump out
    guided_share : of neutral stays led by hand
    """

    name: str
    seat_off_mm: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    spring: Spring = field(default_factory=Spring)
    rock_mm: float = 0.5
    rock_hz: float = 8.5
    rock_damping: float = 0.22
    rock_select: float = 0.08
    shake_mm: float = 0.08
    slack_mm: float = 0.7
    baulk_share: float = 0.25
    refuse_share: float = 0.03
    gear_trouble: Mapping[str, float] = field(default_factory=dict)
    stand_s: tuple[float, float] = (0.03, 0.12)
    knock_mps2: float = 9.0
    synchro: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    grinds: tuple[str, ...] = ()
    reverse_grinds: float = 0.0
    rattle_mps2: float = 0.0
    jumps: tuple[str, ...] = ()
    guided_share: float = 0.25


def draw_health(kind: str, synth_car: SynthCar, rng: np.random.Generator) -> Health:
    """A car of that kind, drawn at random: ``healthy``, ``worn`` or ``sick`` (rests in a wrong plane)."""
    gears = synth_car.car.gate.gears
    if kind not in ("healthy", "worn", "sick"):
        raise ValueError(f"no health {kind!r}; there are healthy, worn, sick")
    health = _healthy(gears, rng) if kind == "healthy" else _worn(gears, synth_car, rng)
    health = replace(health, synchro=_cones(health, synth_car, rng.spawn(1)[0]))
    if synth_car.car.gate.home is None:
        return replace(health, spring=replace(health.spring, friction_mm=NO_SPRING_MM))
    return _sick(health, synth_car, rng) if kind == "sick" else health


def usual_slope(health: Health, gear: str) -> float:
    """Slope of a cone of which nothing else is known [ms for 1,000 rpm]: a usual shift's stand, worn ones steeper."""
    return 1000 * sum(health.stand_s) / 2 / TYPICAL_KRPM * (WORN_STEEPER if gear in health.grinds else 1.0)


def _cones(health: Health, synth_car: SynthCar, rng: np.random.Generator) -> dict[str, dict[str, float]]:
    """Cones of one gearbox: like one another to a sixth, and downwards a little steeper than upwards."""
    cones = {}
    for gear in synth_car.forward_gears:
        up = usual_slope(health, gear) * rng.lognormal(0, 0.15)
        cones[gear] = {"up": float(up), "down": float(up * rng.uniform(1.0, 1.35))}
    return cones


def _healthy(gears: tuple[str, ...], rng: np.random.Generator) -> Health:
    return Health(
        name="healthy",
        seat_off_mm={g: tuple(rng.normal(0, 0.15, 2)) for g in gears},
        spring=Spring(
            centre_mm=rng.normal(0, 0.4),
            frequency_hz=rng.uniform(3.0, 7.0),
            damping=rng.uniform(0.3, 0.9),
            friction_mm=rng.uniform(0.2, 1.5),
        ),
        rock_mm=rng.uniform(0.2, 0.8),
        rock_hz=rng.uniform(7, 11),
        shake_mm=rng.uniform(0.02, 0.12),
        baulk_share=rng.uniform(0.1, 0.3),
        refuse_share=rng.uniform(0.0, 0.03),
    )


def _worn(gears: tuple[str, ...], synth_car: SynthCar, rng: np.random.Generator) -> Health:
    forward = [g for g in gears if g != "R"]
    bad, off = rng.choice(forward, 2, replace=False)
    seats = {g: tuple(rng.normal(0, 0.25, 2)) for g in gears}
    inward = -np.sign(synth_car.car.gate.position_mm(off)[1]) * rng.uniform(1.0, 2.2)
    seats[off] = (seats[off][0] + rng.normal(0, 0.2), seats[off][1] + inward)
    return Health(
        name="worn",
        seat_off_mm=seats,
        spring=Spring(
            centre_mm=rng.normal(0, 2.0),
            frequency_hz=rng.uniform(2.0, 4.5),
            damping=rng.uniform(0.1, 0.6),
            friction_mm=rng.uniform(1.5, 7.0),
        ),
        rock_mm=rng.uniform(0.8, 1.5),
        rock_hz=rng.uniform(6, 9),
        rock_damping=rng.uniform(0.1, 0.25),
        rock_select=rng.uniform(0.05, 0.2),
        shake_mm=rng.uniform(0.1, 0.35),
        slack_mm=rng.uniform(0.9, 1.8),
        baulk_share=rng.uniform(0.3, 0.6),
        refuse_share=rng.uniform(0.05, 0.15),
        gear_trouble={bad: 3.0},
        stand_s=(0.04, 0.25),
        knock_mps2=rng.uniform(10, 22),
        grinds=(bad,),
        reverse_grinds=0.4,
        jumps=(off,) if off != forward[0] else (),
    )


def _sick(worn: Health, synth_car: SynthCar, rng: np.random.Generator) -> Health:
    """The spring pulls to a neighbouring plane, or friction holds the lever wherever it is let go."""
    pitch = synth_car.car.gate.plane_pitch_mm
    if rng.random() < 0.5:
        spring = replace(worn.spring, friction_mm=rng.uniform(1.3, 2.0) * pitch)
    else:
        side = -pitch if synth_car.car.gate.origin > 0 else pitch
        spring = replace(worn.spring, centre_mm=side + rng.normal(0, 1.0), friction_mm=rng.uniform(0.5, 3.0))
    return replace(worn, name="sick", spring=spring)
