"""The tries of a spin-down test: after each wait, whether the input shaft still turned, and how fast."""

from dataclasses import dataclass

from shiftlog.errors import CannotMeasure
from shiftlog.guided.burst import Burst, find_burst, find_recorder
from shiftlog.guided.cards.clutch import WAITS_S
from shiftlog.guided.heard_pushes import hear_pushes, prompted_waits
from shiftlog.guided.pushes import Push, find_pushes
from shiftlog.guided.settled_tones import settle_tones
from shiftlog.guided.spin_waits import FOLLOWS_U_S, Wait, find_waits
from shiftlog.measure.clash import hub_rpm
from shiftlog.measure.scene import Scene
from shiftlog.measure.speeds import value_at
from shiftlog.model.car import REVERSE, Car
from shiftlog.model.drive import MarkedTest
from shiftlog.model.gate import GateMap
from shiftlog.model.trace import Trace
from shiftlog.signal.falling_tone import FallingTone

STOOD_S = 0.08
"""A synchronised reverse that stands longer than this had a turning shaft to stop."""
ALSO_CLUTCH = "the clutch switch or pedal is not logged either, which tells the waits"
HEARD = (
    "no lever sensor is logged: pushes were heard, one too soft to be heard is missing, and so is a way through second"
)
BY_PROMPTS = "neither lever nor clutch is logged: the waits count from the card's prompts, as followed"
MOVES_MPS = 1.0
"""A car that lurches against its brakes while the clutch drags stays below it."""
NEAR_CARD = 1.35
"""A wait is one of the card's within this factor: halfway to the next."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Try:
    """wait_s : from clutch down to the push, u_s its standard uncertainty; quiet : True, False, or None

    of : the card's wait that it stands for, as ``10 s``; shaft_rpm : how fast the input shaft turned then, with its
    uncertainty, or None with the reason in ``why``
    """

    wait_s: float
    u_s: float
    quiet: bool | None
    push: Push
    of: str = ""
    tone_hz: float | None = None
    shaft_rpm: float | None = None
    u_rpm: float | None = None
    why: str | None = None


def find_tries(test: MarkedTest, scene: Scene, gate: GateMap | None) -> tuple[tuple[Try, ...], tuple[str, ...]]:
    """The tries of a span in order of time, and what is doubtful. CannotMeasure where its sensors cannot carry it."""
    is_heard = scene.car.reverse_synchronised is not True
    deaf = find_recorder(scene.signals) if is_heard else None
    if isinstance(deaf, str):
        raise CannotMeasure(deaf if scene.signals.clutch is not None else f"{deaf}; {ALSO_CLUTCH}")
    found, doubts = _waits(test, scene, gate)
    waits, moved = _standing(found, scene.signals.vehicle_speed)
    doubts, named = (*doubts, *moved), _named(waits)
    if not is_heard:
        return tuple(_stood(wait, of) for wait, of in zip(waits, named, strict=True)), doubts
    bursts = [find_burst(scene.signals, w.push, wait_s=w.wait_s, top_hz=_top_hz(w, scene)) for w in waits]
    tones = settle_tones(bursts, [wait.wait_s for wait in waits])
    heard = zip(waits, named, bursts, tones, strict=True)
    return tuple(_heard(*one, scene.car) for one in heard), doubts


def _waits(test: MarkedTest, scene: Scene, gate: GateMap | None) -> tuple[tuple[Wait, ...], tuple[str, ...]]:
    """By the lever where there is one, else by what the gearbox lets hear."""
    clutch = scene.signals.clutch
    if scene.signals.lever is not None:
        return find_waits(test, clutch, find_pushes(scene, gate, test.start_s, test.end_s))
    pushes = hear_pushes(test, scene)
    if clutch is None and not test.waits_s:
        found = tuple(Wait(push=p, wait_s=wait, u_s=FOLLOWS_U_S) for p, wait in prompted_waits(test, pushes))
        return found, (BY_PROMPTS, HEARD)
    found, doubts = find_waits(test, clutch, pushes)
    return found, (*doubts, HEARD)


def _standing(waits: tuple[Wait, ...], speed: Trace | None) -> tuple[tuple[Wait, ...], tuple[str, ...]]:
    """The tries of a car that stood. CannotMeasure where it moved in all of them: then the wheels turn the shaft."""
    moving = [w for w in waits if speed is not None and (value_at(speed, w.push.touches_s) or 0.0) > MOVES_MPS]
    if not moving:
        return waits, ()
    if len(moving) == len(waits):
        raise CannotMeasure(
            "the car moved at every push: this test is done standing; mark the span in which it was done"
        )
    times = ", ".join(f"{wait.push.touches_s:.1f}" for wait in moving)
    return tuple(w for w in waits if w not in moving), (f"left out, as the car moved: at {times} s",)


def _named(waits: tuple[Wait, ...]) -> list[str]:
    """Each by the card's wait, so that two tests line up; a repeat by its number."""
    names: list[str] = []
    for wait in waits:
        nearest = min(WAITS_S, key=lambda card: abs(card - wait.wait_s))
        is_card = 1 / NEAR_CARD < wait.wait_s / nearest < NEAR_CARD
        name = f"{nearest:.0f} s" if is_card else f"{wait.wait_s:.1f} s"
        before = sum(other.split(",")[0] == name for other in names)
        names.append(f"{name}, try {before + 1}" if before else name)
    return names


def _stood(wait: Wait, of: str) -> Try:
    quiet = wait.push.stands_s < STOOD_S and not wait.push.refusals
    why = "reverse is synchronised: its cone takes the shaft's speed away before teeth can sound"
    return Try(wait_s=wait.wait_s, u_s=wait.u_s, push=wait.push, of=of, quiet=quiet, why=why)


def _heard(wait: Wait, of: str, burst: Burst, tone: FallingTone | str, car: Car) -> Try:
    def made(**known: object) -> Try:
        return Try(wait_s=wait.wait_s, u_s=wait.u_s, push=wait.push, of=of, quiet=burst.quiet, **known)

    if burst.quiet or isinstance(tone, str):
        return made(why=burst.why or str(tone))
    teeth, per_hub = car.dog_teeth.get(REVERSE), _rpm_per_hub(car)
    if not teeth:
        return made(tone_hz=tone.from_hz, why="the teeth of gear R are not known: add dog_teeth to car.toml")
    if isinstance(per_hub, str):
        return made(tone_hz=tone.from_hz, why=per_hub)
    factor = 60 / teeth * per_hub
    return made(tone_hz=tone.from_hz, shaft_rpm=tone.from_hz * factor, u_rpm=tone.u_hz * factor)


def _top_hz(wait: Wait, scene: Scene) -> float | None:
    """The highest rate of teeth that a shaft let go at the engine's speed allows, or None where not known."""
    teeth, per_hub = scene.car.dog_teeth.get(REVERSE), _rpm_per_hub(scene.car)
    if not teeth or isinstance(per_hub, str):
        return None
    return _top_rpm(wait, scene) / per_hub * teeth / 60


def _rpm_per_hub(car: Car) -> float | str:
    """Input shaft speed over the difference at the hub of a standing car, or why it is not known."""
    if car.hub.get(REVERSE, "output") == "output" and REVERSE not in car.ratios:
        return "the ratio of gear R is not known: add ratios to car.toml"
    return 1 / abs(hub_rpm(car, REVERSE, 1.0, 0.0))


HIGHEST_IDLE_RPM, ABOVE = 1300.0, 1.1
"""Where no engine speed is logged; a shaft let go turns no faster than the engine did, and what rounding leaves."""


def _top_rpm(wait: Wait, scene: Scene) -> float:
    engine = scene.signals.engine_speed
    turning = value_at(engine, wait.push.touches_s - wait.wait_s) if engine is not None else None
    return ABOVE * (turning or HIGHEST_IDLE_RPM)
