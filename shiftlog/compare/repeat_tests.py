"""What repeat drives tell of the figures of guided tests: how much they differ from drive to drive."""

from collections.abc import Sequence

import numpy as np

from shiftlog.compare.given import Given, gather_figures, headline_groups
from shiftlog.compare.guided_rows import known_of_drive
from shiftlog.compare.weigh_tests import Known
from shiftlog.measure.catalogue import Measure
from shiftlog.model.result import DriveResult


def gather_repeats(measure: Measure, cells: Sequence[Sequence[DriveResult]]) -> list[list[Known]]:
    """Of each group of repeat drives the figures of such a test, over what all of a group have.

    Nothing of shares: their own tries tell how sure they are, whatever other drives do.
    """
    groups = [gather_figures(cell, [str(n) for n, _ in enumerate(cell)], measure) for cell in cells]
    known = [_known(measure, [one for one in group if one.figures]) for group in groups]
    return [group for group in known if group]


def _known(measure: Measure, given: Sequence[Given]) -> list[Known]:
    kinds = headline_groups(given, ())
    if any(f.share is not None for one in given for some in one.figures.values() for f in some):
        return []
    return [known for one in given if (known := known_of_drive(one, kinds, measure))]


def find_least(groups: Sequence[Sequence[Known]]) -> float:
    """Variance that a test's own repeats leave in its figure, the mean of those that tell one."""
    told = [one.variance for group in groups for one in group if one.variance is not None]
    return float(np.mean(told)) if told else 0.0
