"""Clutch drag and spin-down: how fast the input shaft still turns so long after the clutch went down."""

from dataclasses import dataclass

import numpy as np

from shiftlog.errors import CannotMeasure
from shiftlog.guided.burst import Burst, find_burst
from shiftlog.guided.engine_on_off import count_refusals, says_engine
from shiftlog.guided.heard_pushes import hear_pushes, prompted_waits
from shiftlog.guided.pushes import Push, find_pushes
from shiftlog.guided.shaft_course import REST, Course, judge_course
from shiftlog.guided.spin_down_words import beside_other_state, say_course
from shiftlog.measure.clash import hub_rpm
from shiftlog.measure.scene import Scene
from shiftlog.measure.speeds import value_at
from shiftlog.model.car import REVERSE
from shiftlog.model.drive import MarkedTest
from shiftlog.model.guided import Figure, GuidedResult
from shiftlog.model.reading import K95
from shiftlog.model.result import DriveResult
from shiftlog.signal.crossing import find_runs
from shiftlog.signal.resample import hold_last

CARD_WAITS_S = (10.0, 5.0, 3.0, 2.0, 1.0)
"""In this order, where no clutch channel tells."""
FOLLOWS_U_S, SWITCH_U_S = 0.4, 0.1
"""How well a person follows a beep; how far a clutch's own travel lies from its switch (common practice, no source)."""
HEARD = "no lever sensor is logged: pushes were heard, and one too soft to be heard is missing"
STOOD_S = 0.08
"""A synchronised reverse that stands longer than this had a turning shaft to stop."""
STEP_S = 0.01


@dataclass(frozen=True, eq=False, kw_only=True)
class Try:
    """wait_s : from clutch down to the push, u_s its standard uncertainty; quiet : True, False, or None

    shaft_rpm : how fast the input shaft turned then, with its uncertainty, or None with the reason in ``why``
    """

    wait_s: float
    u_s: float
    quiet: bool | None
    push: Push
    tone_hz: float | None = None
    shaft_rpm: float | None = None
    u_rpm: float | None = None
    why: str | None = None


def measure_spin_down(test: MarkedTest, scene: Scene, result: DriveResult) -> GuidedResult:
    """The marked span as tries with growing waits, or as gears with the engine off or idling. CannotMeasure."""
    if says_engine(test.configuration):
        pushes = find_pushes(scene, result.gate, test.start_s, test.end_s)
        return count_refusals(test, scene, result, pushes)
    pushes = _pushes(test, scene, result)
    tries, doubts = find_tries(test, scene, pushes)
    if all(one.quiet is None for one in tries):
        raise CannotMeasure(tries[0].why or "no push can be told as quiet or grinding")
    idle = _idle_rpm(test, scene)
    course = judge_course(tries, idle)
    others = [t for t in result.tests if t.kind == test.kind and t is not test and not says_engine(t.configuration)]
    figures = (*_bracket(course), *(_speed(one) for one in tries), *_end_figures(course, idle))
    says, points = say_course(course, tries)
    compared = beside_other_state(test, course, [(t, _course_of(t, scene, result)) for t in others])
    return GuidedResult(
        kind=test.kind, start_s=test.start_s, end_s=test.end_s, configuration=test.configuration,
        figures=(*figures, *compared.figures), says=(*says, *compared.says), doubts=(*doubts, *course.doubts),
        points_to=(*points, *compared.points),
    )  # fmt: skip


def _pushes(test: MarkedTest, scene: Scene, result: DriveResult) -> tuple[Push, ...]:
    """By the lever where there is one, else by what the gearbox lets hear."""
    if scene.signals.lever is None:
        return hear_pushes(test, scene)
    return find_pushes(scene, result.gate, test.start_s, test.end_s)


def find_tries(test: MarkedTest, scene: Scene, pushes: tuple[Push, ...]) -> tuple[tuple[Try, ...], tuple[str, ...]]:
    """The tries of a span in order of time, and what is doubtful about how they were found."""
    waits, doubts = _waits(test, scene, pushes)
    if not waits:
        raise CannotMeasure("no push follows a clutch that went down within the marked span; mark the span again")
    heard = (HEARD,) if scene.signals.lever is None else ()
    return tuple(_try(push, wait_s, u_s, scene) for push, wait_s, u_s in waits), (*doubts, *heard)


def _waits(
    test: MarkedTest, scene: Scene, pushes: tuple[Push, ...]
) -> tuple[list[tuple[Push, float, float]], tuple[str, ...]]:
    clutch = scene.signals.clutch
    if clutch is None and scene.signals.lever is None:
        told = "neither lever nor clutch is logged: the waits count from the card's prompts, as followed"
        return [(push, wait, FOLLOWS_U_S) for push, wait in prompted_waits(test, pushes)], (told,)
    if clutch is None:
        named = list(zip(pushes, CARD_WAITS_S, strict=False))
        told = "no clutch channel is logged: the waits are those of the card, 10, 5, 3, 2, 1 s, in the order of pushes"
        return [(push, wait, FOLLOWS_U_S) for push, wait in named], (told,)
    at = np.arange(test.start_s, test.end_s, STEP_S)
    down = hold_last(clutch.time_s, clutch.values, at) > 0.5
    found, doubts = [], []
    for a, b in find_runs(down):
        inside = [p for p in pushes if at[a] <= p.touches_s <= at[b - 1] + STEP_S]
        if inside and a > 0:
            gears = {p.gear for p in inside[:2]}
            if len(gears) > 1:
                doubts.append(f"the try at {at[a]:.1f} s went through {inside[0].gear} first, which stops the shaft")
                continue
            u_s = np.hypot(SWITCH_U_S, 1 / (clutch.rate_hz * np.sqrt(12)))
            found.append((inside[0], float(inside[0].touches_s - at[a]), float(u_s)))
    return found, tuple(doubts)


def _try(push: Push, wait_s: float, u_s: float, scene: Scene) -> Try:
    gear = push.gear or REVERSE
    if scene.car.reverse_synchronised is True or gear != REVERSE:
        return Try(
            wait_s=wait_s, u_s=u_s, push=push, quiet=push.stands_s < STOOD_S and not push.refusals,
            why=f"gear {gear} is synchronised: its cone takes the shaft's speed away before teeth can sound",
        )  # fmt: skip
    per_hub = _rpm_per_hub(scene, gear)
    teeth = scene.car.dog_teeth.get(gear)
    top_hz = None if isinstance(per_hub, str) or not teeth else _top_rpm(push, scene, wait_s) / per_hub * teeth / 60
    burst = find_burst(scene.signals, push, wait_s=wait_s, top_hz=top_hz)
    return _with_speed(push, wait_s, u_s, burst, per_hub, teeth, gear)


def _with_speed(
    push: Push, wait_s: float, u_s: float, burst: Burst, per_hub: float | str, teeth: int | None, gear: str
) -> Try:
    def made(**known: object) -> Try:
        return Try(wait_s=wait_s, u_s=u_s, push=push, quiet=burst.quiet, **known)

    if burst.quiet or burst.tone is None:
        return made(why=burst.why)
    tone = burst.tone
    if not teeth:
        return made(tone_hz=tone.from_hz, why=f"the teeth of gear {gear} are not known: add dog_teeth to car.toml")
    if isinstance(per_hub, str):
        return made(tone_hz=tone.from_hz, why=per_hub)
    factor = 60 / teeth * per_hub
    return made(tone_hz=tone.from_hz, shaft_rpm=tone.from_hz * factor, u_rpm=tone.u_hz * factor)


def _rpm_per_hub(scene: Scene, gear: str) -> float | str:
    """Input shaft speed over the difference at the hub of a standing car, or why it is not known."""
    if scene.car.hub.get(gear, "output") == "output" and gear not in scene.car.ratios:
        return f"the ratio of gear {gear} is not known: add ratios to car.toml"
    return 1 / abs(hub_rpm(scene.car, gear, 1.0, 0.0))


HIGHEST_IDLE_RPM, ABOVE = 1300.0, 1.1
"""Where no engine speed is logged; a shaft let go turns no faster than the engine did, and what rounding leaves."""


def _top_rpm(push: Push, scene: Scene, wait_s: float) -> float:
    engine = scene.signals.engine_speed
    turning = value_at(engine, push.touches_s - wait_s) if engine is not None else None
    return ABOVE * (turning or HIGHEST_IDLE_RPM)


def _idle_rpm(test: MarkedTest, scene: Scene) -> float | None:
    engine = scene.signals.engine_speed
    if engine is None:
        return None
    inside = engine.values[(engine.time_s >= test.start_s) & (engine.time_s <= test.end_s)]
    return float(np.median(inside)) if inside.size else None


def _course_of(test: MarkedTest, scene: Scene, result: DriveResult) -> Course | None:
    try:
        tries, _ = find_tries(test, scene, _pushes(test, scene, result))
    except CannotMeasure:
        return None
    return judge_course(tries, _idle_rpm(test, scene))


def _bracket(course: Course) -> tuple[Figure, ...]:
    key, label = "quiet_after_s", "Quiet after a wait of"
    if course.quiet_s is None:
        why = f"still turning after {course.turning_s:.1f} s, the longest wait" if course.turning_s else course.why
        return (Figure(key=key, label=label, unit="s", why=why or "no try can be told"),)
    low = course.turning_s or 0.0
    return (
        Figure(key=key, label=label, unit="s", value=course.quiet_s, interval95=(low, course.quiet_s)),
        Figure(key="turning_at_s", label="Longest wait still turning", unit="s", value=course.turning_s)
        if course.turning_s is not None
        else Figure(key="turning_at_s", label="Longest wait still turning", unit="s", why="every try was quiet"),
    )


def _speed(one: Try) -> Figure:
    of = f"{one.wait_s:.1f} s"
    shared = {"key": "shaft_rpm", "label": "Input shaft speed after", "unit": "rpm", "of": of}
    if one.shaft_rpm is None:
        return Figure(**shared, why=one.why or "the push was quiet: the shaft turned too slowly to be heard")
    span = K95 * (one.u_rpm or 0.0)
    return Figure(
        **shared, value=one.shaft_rpm, uncertainty=one.u_rpm,
        interval95=(max(one.shaft_rpm - span, 0.0), one.shaft_rpm + span),
    )  # fmt: skip


def _end_figures(course: Course, idle: float | None) -> tuple[Figure, ...]:
    shared = {"key": "plateau_rpm", "label": "Speed the shaft is driven at", "unit": "rpm"}
    plateau = (
        Figure(**shared, value=course.plateau_rpm, uncertainty=course.plateau_u_rpm)
        if course.plateau_rpm is not None
        else Figure(**shared, why="the shaft comes to rest" if course.end == REST else course.plateau_why())
    )
    engine = {"key": "idle_rpm", "label": "Engine at idle", "unit": "rpm"}
    if idle is None:
        return plateau, Figure(**engine, why="engine speed was not logged")
    return plateau, Figure(**engine, value=idle)
