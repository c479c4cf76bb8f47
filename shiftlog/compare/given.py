"""What guided tests give a measure: figures by drive and by what they are of (a gear, a side, a state)."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from shiftlog.compare.kinds import ALL
from shiftlog.guided.set_up import COMPLETE, set_up_of
from shiftlog.measure.catalogue import Measure
from shiftlog.model.guided import Figure, GuidedResult
from shiftlog.model.result import DriveResult
from shiftlog.model.told import tell

Figures = Mapping[str, tuple[Figure, ...]]
"""What a figure is of → the figures of all spans of a drive."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Given:
    """What the tests of one drive give a measure. without : why a figure could not be had, by what it is of"""

    drive: str
    figures: Figures
    without: Mapping[str, Counter[str]]


def gather_figures(side: Sequence[DriveResult], names: Sequence[str], measure: Measure) -> list[Given]:
    """For each drive with such a test what it gives."""
    given = [_of_drive(result, name, measure) for result, name in zip(side, names, strict=True)]
    return [one for one in given if one.figures or one.without]


def _of_drive(result: DriveResult, name: str, measure: Measure) -> Given:
    found: dict[str, list[Figure]] = {}
    without: dict[str, Counter[str]] = {}
    for test in result.guided:
        if test.kind != measure.test:
            continue
        for figure in (f for f in test.figures if f.key == measure.figure):
            group = _group(figure, test)
            if figure.why is not None:
                without.setdefault(group, Counter())[tell("left.not_measured", figure.why)] += 1
            else:
                found.setdefault(group, []).append(figure)
    return Given(drive=name, figures={k: tuple(v) for k, v in found.items()}, without=without)


def _group(figure: Figure, test: GuidedResult) -> str:
    """What it is of; like is compared with like, so that another configuration is another thing."""
    told = set_up_of(test.configuration)
    apart = "" if told == COMPLETE or told in figure.of.lower() else told
    return ", ".join(part for part in (figure.of, apart) if part) or ALL


def groups_of(given: Sequence[Given]) -> set[str]:
    """Everything that some drive has a figure of."""
    return {group for one in given for group in one.figures}


def headline_groups(before: Sequence[Given], after: Sequence[Given]) -> tuple[str, ...]:
    """What the headline is made of: the figure over everything where tests give one, else what every drive has."""
    every = [set(one.figures) for one in (*before, *after) if one.figures]
    if any(ALL in groups for groups in every):
        return (ALL,)
    return tuple(sorted(set.intersection(*every))) if every else ()
