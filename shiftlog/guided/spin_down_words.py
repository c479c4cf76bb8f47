"""A spin-down test in words, and what pumping the pedal changed."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from shiftlog.guided.shaft_course import ON, REST, Course
from shiftlog.model.drive import MarkedTest
from shiftlog.model.guided import Figure
from shiftlog.model.sign import OUTSIDE

SOUND_S = 5.0
PRACTICE = "common practice, no source"
COLD = "cold oil stops the shaft and hides a clutch that drags; do the test hot"
LESS_SHARE = 0.7


@dataclass(frozen=True, eq=False, kw_only=True)
class Compared:
    """What a second span of the same test adds."""

    figures: tuple[Figure, ...] = ()
    says: tuple[str, ...] = ()
    points: tuple[tuple[str, str], ...] = ()


def say_course(course: Course, tries: Sequence[object]) -> tuple[tuple[str, ...], tuple[tuple[str, str], ...]]:
    """The answer in sentences, and what it points to."""
    if course.end == REST:
        return _say_rest(course)
    if course.end == ON:
        at = f" at {course.plateau_rpm:.0f} rpm" if course.plateau_rpm is not None else ""
        told = f"The shaft is still driven{at} {course.turning_s:.0f} s after the clutch went down."
        point = f"{told} Clutch first: hydraulics, cable, release bearing, disc ({PRACTICE})"
        return (told, f"Clear the clutch before any gear is blamed ({PRACTICE})."), ((OUTSIDE, point),)
    whys = sorted({why for t in tries if (why := getattr(t, "why", None)) and getattr(t, "quiet", None) is None})
    return (f"Not known: {course.why}.", *whys), ()


def _say_rest(course: Course) -> tuple[tuple[str, ...], tuple[tuple[str, str], ...]]:
    bracket = (
        f"between {course.turning_s:.1f} and {course.quiet_s:.1f} s"
        if course.turning_s
        else (f"{course.quiet_s:.1f} s or sooner")
    )
    told = f"The shaft comes to rest {bracket} after the clutch goes down."
    if course.quiet_s is not None and course.quiet_s <= SOUND_S + 0.5:
        return (told, f"Quiet within 2 to 5 s: a sound clutch ({PRACTICE}); {COLD}."), ()
    late = f"It takes long: the clutch drags a little, or the oil is thin ({PRACTICE})."
    return (told, late), ((OUTSIDE, f"{told} {late}"),)


def beside_other_state(
    test: MarkedTest, course: Course, others: Sequence[tuple[MarkedTest, Course | None]]
) -> Compared:
    """What pumping the pedal changed, on the span that was pumped; nothing elsewhere."""
    if not _pumped(test):
        return Compared()
    before = [c for t, c in others if c is not None and not _pumped(t)]
    if not before:
        why = "no spin-down before pumping in this drive; do it once without and once after three pumps"
        return Compared(figures=(_change(None, why),))
    return _compare(before[-1], course)


def _pumped(test: MarkedTest) -> bool:
    return "pump" in (test.configuration or "").lower()


def _compare(before: Course, after: Course) -> Compared:
    times = [c.quiet_s if c.quiet_s is not None else np.inf for c in (before, after)]
    low = [c.turning_s or 0.0 for c in (before, after)]
    faster = times[1] <= low[0] or (before.end == ON and after.end == REST)
    slower_shaft = (
        before.plateau_rpm is not None and after.plateau_rpm is not None
        and after.plateau_rpm < LESS_SHARE * before.plateau_rpm
    )  # fmt: skip
    change = (
        _change(times[1] - times[0], None)
        if np.isfinite(times).all()
        else _change(None, "the shaft did not come to rest both times")
    )
    if faster or slower_shaft:
        told = "After pumping the shaft comes to rest sooner: the clutch's hydraulics first (air, a worn master)."
        return Compared(figures=(change,), says=(told,), points=((OUTSIDE, f"{told} {PRACTICE.capitalize()}"),))
    return Compared(figures=(change,), says=("Pumping changes nothing that this test can show.",))


def _change(value: float | None, why: str | None) -> Figure:
    return Figure(
        key="pumping_changes_s", label="Quiet sooner or later after pumping by", unit="s", value=value, why=why
    )
