"""A spin-down test in words, and what pumping the pedal changed."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from shiftlog.guided.shaft_course import ON, REST, Course
from shiftlog.guided.spin_tries import Try
from shiftlog.guided.temperature import COLD, MINUTES, Warmth
from shiftlog.model.drive import MarkedTest
from shiftlog.model.guided import PRACTICE, Figure
from shiftlog.model.reading import K95
from shiftlog.model.sign import OUTSIDE

BETWEEN = "between"
"""Neither cold nor hot, as the bands of the gearbox temperature name it."""
SOUND_S = 5.0
MASKS = "cold oil stops the shaft and hides a clutch that drags; do the test hot"
LESS_SHARE = 0.7
LEAST_TOLD = 3
FEW_TOLD = (
    "fewer than three tries tell a speed, so that nothing beside them holds it up: it may be the half of the true one; "
    "do the test again with all the waits of its card"
)


@dataclass(frozen=True, eq=False, kw_only=True)
class Told:
    """The answer in sentences, what it points to, and what is doubtful."""

    says: tuple[str, ...]
    points: tuple[tuple[str, str], ...] = ()
    doubts: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False, kw_only=True)
class Compared:
    """What a second span of the same test adds."""

    figures: tuple[Figure, ...] = ()
    says: tuple[str, ...] = ()
    points: tuple[tuple[str, str], ...] = ()


def say_course(course: Course, tries: Sequence[Try], warmth: Warmth) -> Told:
    """What one span says, in the oil it was done in."""
    not_hot = warmth.state in (COLD, BETWEEN)
    at = f" ({warmth.words})" if warmth.how != MINUTES else ""
    doubts = (f"the gearbox was not hot{at}: {MASKS}",) if not_hot else ()
    if 0 < sum(t.shaft_rpm is not None for t in tries) < LEAST_TOLD:
        doubts = (*doubts, FEW_TOLD)
    if course.end == REST:
        says, points = _say_rest(course, not_hot=not_hot)
    elif course.end == ON:
        says, points = _say_driven(course, not_hot=not_hot)
    else:
        whys = sorted({t.why for t in tries if t.why and t.quiet is None})
        says, points = (f"Not known: {course.why}.", *whys), ()
    return Told(says=says, points=points, doubts=doubts)


def _say_driven(course: Course, *, not_hot: bool) -> tuple[tuple[str, ...], tuple[tuple[str, str], ...]]:
    at = f" at {course.plateau_rpm:.0f} rpm" if course.plateau_rpm is not None else ""
    told = f"The shaft is still driven{at} {course.turning_s:.0f} s after the clutch went down."
    point = f"{told} Clutch first: hydraulics, cable, release bearing, disc ({PRACTICE})"
    more = ("Oil that is not hot slows the shaft: in hot oil it is driven faster still.",) if not_hot else ()
    return (told, f"Clear the clutch before any gear is blamed ({PRACTICE}).", *more), ((OUTSIDE, point),)


def _say_rest(course: Course, *, not_hot: bool) -> tuple[tuple[str, ...], tuple[tuple[str, str], ...]]:
    bracket = (
        f"between {course.turning_s:.1f} and {course.quiet_s:.1f} s"
        if course.turning_s
        else (f"{course.quiet_s:.1f} s or sooner")
    )
    told = f"The shaft comes to rest {bracket} after the clutch goes down."
    if course.quiet_s is not None and course.quiet_s <= SOUND_S + 0.5:
        if not_hot:
            return (told, "That the clutch is sound is not shown: do the test with the gearbox hot."), ()
        return (told, f"Quiet within 2 to 5 s: a sound clutch ({PRACTICE}); {MASKS}."), ()
    late = f"It takes long: the clutch drags a little, or the oil is thin ({PRACTICE})."
    if not_hot:
        late = f"It takes long, and cold oil would have stopped it sooner: the clutch drags ({PRACTICE})."
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
    change = (
        _change(after.quiet_s - before.quiet_s, None)
        if before.quiet_s is not None and after.quiet_s is not None
        else _change(None, "the shaft did not come to rest both times")
    )
    if _is_sooner(before, after):
        told = "After pumping the shaft comes to rest sooner: the clutch's hydraulics first (air, a worn master)."
        return Compared(figures=(change,), says=(told,), points=((OUTSIDE, f"{told} {PRACTICE.capitalize()}"),))
    if _is_sooner(after, before):
        told = (
            "After pumping the shaft turns on for longer than before: pumping does not help, and the pedal or the "
            "clutch's temperature was not alike; do both tests again, one straight after the other."
        )
        return Compared(figures=(change,), says=(told,))
    return Compared(figures=(change,), says=("Pumping changes nothing that this test can show.",))


def _is_sooner(one: Course, other: Course) -> bool:
    """Whether the other shaft surely rests sooner, or is driven at a lower speed."""
    rests_s = other.quiet_s if other.quiet_s is not None else np.inf
    slower = (
        one.plateau_rpm is not None and other.plateau_rpm is not None
        and other.plateau_rpm + K95 * (other.plateau_u_rpm or 0.0) < LESS_SHARE * one.plateau_rpm
    )  # fmt: skip
    return rests_s <= (one.turning_s or 0.0) or (one.end == ON and other.end == REST) or slower


def _change(value: float | None, why: str | None) -> Figure:
    return Figure(
        key="pumping_changes_s", label="Quiet sooner or later after pumping by", unit="s", value=value, why=why
    )
