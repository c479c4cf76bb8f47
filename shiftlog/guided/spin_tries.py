"""The tries of a spin-down test: after each wait, whether the input shaft still turned, and how fast."""

from dataclasses import dataclass

from shiftlog.errors import CannotMeasure
from shiftlog.guided.burst import Burst, find_burst, find_recorder
from shiftlog.guided.cards.clutch import WAITS_S
from shiftlog.guided.pushes import Push
from shiftlog.guided.spin_waits import Wait, find_waits
from shiftlog.measure.clash import hub_rpm
from shiftlog.measure.scene import Scene
from shiftlog.measure.speeds import value_at
from shiftlog.model.car import REVERSE
from shiftlog.model.drive import MarkedTest

STOOD_S = 0.08
"""A synchronised reverse that stands longer than this had a turning shaft to stop."""
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


def find_tries(test: MarkedTest, scene: Scene, pushes: tuple[Push, ...]) -> tuple[tuple[Try, ...], tuple[str, ...]]:
    """The tries of a span in order of time, and what is doubtful. CannotMeasure where its sensors cannot carry it."""
    is_heard = scene.car.reverse_synchronised is not True
    deaf = find_recorder(scene.signals) if is_heard else None
    if isinstance(deaf, str):
        raise CannotMeasure(deaf)
    waits, doubts = find_waits(test, scene.signals.clutch, pushes)
    named = _named(waits)
    return tuple(_try(wait, of, scene) for wait, of in zip(waits, named, strict=True)), doubts


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


def _try(wait: Wait, of: str, scene: Scene) -> Try:
    push = wait.push
    if scene.car.reverse_synchronised is True:
        return Try(
            wait_s=wait.wait_s, u_s=wait.u_s, push=push, of=of, quiet=push.stands_s < STOOD_S and not push.refusals,
            why="reverse is synchronised: its cone takes the shaft's speed away before teeth can sound",
        )  # fmt: skip
    per_hub = _rpm_per_hub(scene)
    teeth = scene.car.dog_teeth.get(REVERSE)
    top_hz = None if isinstance(per_hub, str) or not teeth else _top_rpm(wait, scene) / per_hub * teeth / 60
    burst = find_burst(scene.signals, push, wait_s=wait.wait_s, top_hz=top_hz)
    return _with_speed(wait, of, burst, per_hub, teeth)


def _with_speed(wait: Wait, of: str, burst: Burst, per_hub: float | str, teeth: int | None) -> Try:
    def made(**known: object) -> Try:
        return Try(wait_s=wait.wait_s, u_s=wait.u_s, push=wait.push, of=of, quiet=burst.quiet, **known)

    if burst.quiet or burst.tone is None:
        return made(why=burst.why)
    tone = burst.tone
    if not teeth:
        return made(tone_hz=tone.from_hz, why="the teeth of gear R are not known: add dog_teeth to car.toml")
    if isinstance(per_hub, str):
        return made(tone_hz=tone.from_hz, why=per_hub)
    factor = 60 / teeth * per_hub
    return made(tone_hz=tone.from_hz, shaft_rpm=tone.from_hz * factor, u_rpm=tone.u_hz * factor)


def _rpm_per_hub(scene: Scene) -> float | str:
    """Input shaft speed over the difference at the hub of a standing car, or why it is not known."""
    if scene.car.hub.get(REVERSE, "output") == "output" and REVERSE not in scene.car.ratios:
        return "the ratio of gear R is not known: add ratios to car.toml"
    return 1 / abs(hub_rpm(scene.car, REVERSE, 1.0, 0.0))


HIGHEST_IDLE_RPM, ABOVE = 1300.0, 1.1
"""Where no engine speed is logged; a shaft let go turns no faster than the engine did, and what rounding leaves."""


def _top_rpm(wait: Wait, scene: Scene) -> float:
    engine = scene.signals.engine_speed
    turning = value_at(engine, wait.push.touches_s - wait.wait_s) if engine is not None else None
    return ABOVE * (turning or HIGHEST_IDLE_RPM)
