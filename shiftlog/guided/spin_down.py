"""Clutch drag and spin-down: how fast the input shaft still turns so long after the clutch went down."""

from dataclasses import replace

import numpy as np

from shiftlog.errors import CannotMeasure
from shiftlog.guided.engine_on_off import count_refusals, says_engine
from shiftlog.guided.pushes import find_pushes
from shiftlog.guided.shaft_course import Course, judge_course
from shiftlog.guided.spin_figures import spin_figures
from shiftlog.guided.spin_tries import find_tries
from shiftlog.guided.spin_words import beside_other_state, say_course
from shiftlog.guided.temperature import COLD, Warmth, find_warmth
from shiftlog.measure.scene import Scene
from shiftlog.model.drive import MarkedTest
from shiftlog.model.guided import GuidedResult
from shiftlog.model.result import DriveResult


def measure_spin_down(test: MarkedTest, scene: Scene, result: DriveResult) -> GuidedResult:
    """The marked span as tries with growing waits, or as gears with the engine off or idling. CannotMeasure."""
    if says_engine(test.configuration):
        pushes = find_pushes(scene, result.gate, test.start_s, test.end_s)
        return count_refusals(test, scene, result, pushes)
    tries, doubts = find_tries(test, scene, result.gate)
    if all(one.quiet is None for one in tries):
        raise CannotMeasure(tries[0].why or "no push can be told as quiet or grinding")
    idle_rpm = _idle_rpm(test, scene)
    course = judge_course(tries, idle_rpm)
    others = [t for t in result.tests if t.kind == test.kind and t is not test and not says_engine(t.configuration)]
    told = say_course(course, tries, _warmth(test, scene, result))
    compared = beside_other_state(test, course, [(t, _course_of(t, scene, result)) for t in others])
    return GuidedResult(
        kind=test.kind, start_s=test.start_s, end_s=test.end_s, configuration=test.configuration,
        figures=(*spin_figures(course, tries, idle_rpm), *compared.figures), says=(*told.says, *compared.says),
        doubts=(*doubts, *course.doubts, *told.doubts), points_to=(*told.points, *compared.points),
    )  # fmt: skip


def _warmth(test: MarkedTest, scene: Scene, result: DriveResult) -> Warmth:
    """By probe, typed, or the mark's own words; else by what the whole drive was marked as."""
    found = find_warmth(scene, test)
    return replace(found, state=COLD) if found.state == "not known" and result.head.cold else found


def _idle_rpm(test: MarkedTest, scene: Scene) -> float | None:
    engine = scene.signals.engine_speed
    if engine is None:
        return None
    inside = engine.values[(engine.time_s >= test.start_s) & (engine.time_s <= test.end_s)]
    return float(np.median(inside)) if inside.size else None


def _course_of(test: MarkedTest, scene: Scene, result: DriveResult) -> Course | None:
    try:
        tries, _ = find_tries(test, scene, result.gate)
    except CannotMeasure:
        return None
    return judge_course(tries, _idle_rpm(test, scene))
