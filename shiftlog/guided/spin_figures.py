"""The figures of a spin-down test: the bracket, each wait and its shaft speed, and what the shaft comes to."""

from collections.abc import Sequence

from shiftlog.guided.shaft_course import REST, Course
from shiftlog.guided.spin_tries import Try
from shiftlog.model.guided import Figure
from shiftlog.model.reading import K95


def spin_figures(course: Course, tries: Sequence[Try], idle_rpm: float | None) -> tuple[Figure, ...]:
    """All of one span; those of a try stand under the card's wait."""
    speeds = tuple(figure for one in tries for figure in (_waited(one), _speed(one)))
    return (*_bracket(course), *speeds, *_end_figures(course, idle_rpm))


def _waited(one: Try) -> Figure:
    return Figure(key="waited_s", label="Waited", unit="s", of=one.of, value=one.wait_s, uncertainty=one.u_s)


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
    shared = {"key": "shaft_rpm", "label": "Input shaft speed after", "unit": "rpm", "of": one.of}
    if one.shaft_rpm is None:
        return Figure(**shared, why=one.why or "the push was quiet: the shaft turned too slowly to be heard")
    span = K95 * (one.u_rpm or 0.0)
    return Figure(
        **shared, value=one.shaft_rpm, uncertainty=one.u_rpm,
        interval95=(max(one.shaft_rpm - span, 0.0), one.shaft_rpm + span),
    )  # fmt: skip


def _end_figures(course: Course, idle_rpm: float | None) -> tuple[Figure, ...]:
    shared = {"key": "plateau_rpm", "label": "Speed the shaft is driven at", "unit": "rpm"}
    plateau = (
        Figure(**shared, value=course.plateau_rpm, uncertainty=course.plateau_u_rpm)
        if course.plateau_rpm is not None
        else Figure(**shared, why="the shaft comes to rest" if course.end == REST else course.plateau_why())
    )
    engine = {"key": "idle_rpm", "label": "Engine at idle", "unit": "rpm"}
    if idle_rpm is None:
        return plateau, Figure(**engine, why="engine speed was not logged")
    return plateau, Figure(**engine, value=idle_rpm)
