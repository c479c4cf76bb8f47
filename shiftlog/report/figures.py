"""The figures of a report as flat names and values: what is carried in the page, and what is measured anew."""

from collections.abc import Iterable, Mapping

from shiftlog.compare.drives import tell_rows
from shiftlog.compare.sample import RESTS_OF
from shiftlog.measure.nouns import ALL
from shiftlog.model.comparison import Row
from shiftlog.model.result import DriveResult
from shiftlog.report.content import Content, DriveUsed
from shiftlog.report.counts import Count

Figures = dict[str, object]
_OF_ROW = (
    "drives_before", "drives_after", "n_before", "n_after", "before", "after", "difference", "ci_low", "ci_high", "p",
    "k_before", "k_after", "p_corrected", "cliffs_delta", "smallest_change", "margin", "df", "more_drives",
    "times_shifts", "verdict", "provisional",
)  # fmt: skip
SIDES = ("before", "after")
RECHECK = "recheck"
ALONE = ("rests/", "alone/")
"""Figures of a drive that no other drive has a say in begin so."""


def pooled_figures(content: Content) -> Figures:
    """Figures that rest on all drives together: counts of each side, and every row of the comparison.

    Those of the recheck, which is compared by itself, begin with ``recheck/``.
    """
    figures: Figures = {}
    for count in content.counts:
        for side in SIDES:
            share = count.share(side)
            if share is not None:
                figures |= {
                    f"count {count.key}/{side}/{name}": getattr(share, name) for name in ("k", "n", "low", "high")
                }
    if content.comparison:
        figures["hand"] = _plain(content.comparison.hand)
    for row in content.comparison.rows if content.comparison else ():
        figures |= {f"row/{row.measure}/{row.group}/{name}": _plain(getattr(row, name)) for name in _OF_ROW}
    later = pooled_figures(content.later) if content.later else {}
    return figures | {f"{RECHECK}/{key}": value for key, value in later.items()}


def drive_figures(content: Content) -> dict[str, Figures]:
    """Figures of each drive alone, by ``before 1``: what its counts and pictures are made of.

    Drives are numbered as they were given; one that was left aside has no figures.
    """
    figures = {
        f"{side} {number}": _of_drive(content, side, index, drive)
        for side in SIDES
        for index, (number, drive) in enumerate(_numbered(content, side))
    }
    later = drive_figures(content.later) if content.later else {}
    return figures | {key.replace("after", RECHECK): value for key, value in later.items() if key.startswith("after")}


def _numbered(content: Content, side: str) -> Iterable[tuple[int, DriveUsed]]:
    """The drives used, each with its number among those given; they stand in the same order."""
    given = iter(enumerate(content.given[side], start=1))
    for drive in getattr(content, side):
        yield next(number for number, one in given if one.result.inputs is drive.result.inputs), drive


def _of_drive(content: Content, side: str, index: int, drive: DriveUsed) -> Figures:
    figures = dict(_counted(content.counts, side, index))
    names = getattr(content.comparison, side) if content.comparison else ()
    for row in content.comparison.rows if content.comparison else ():
        values = _values(row, side).get(names[index])
        if values:
            figures[f"values/{row.measure}/{row.group}"] = [_plain(v) for v in values]
    for where, take in RESTS_OF.items():
        places = [[round(r.select_mm, 3), round(r.engage_mm, 3), r.plane] for r in take(drive.result)]
        figures |= {f"rests/{where}": places} if places else {}
    return figures | _alone(drive.result)


def _alone(result: DriveResult) -> Figures:
    """What a drive says by itself, before anything is left out for another drive's sake."""
    told = {
        f"alone/{row.measure}/{row.where}".rstrip("/"): [_plain(v) for some in row.values_before.values() for v in some]
        for row in tell_rows([result], [])
        if row.group == ALL
    }
    return {key: values for key, values in told.items() if values}


def _counted(counts: Iterable[Count], side: str, index: int) -> Iterable[tuple[str, object]]:
    for count in counts:
        tries = getattr(count, side)[index].tries
        yield f"count {count.key}/k", sum(tries)
        yield f"count {count.key}/n", len(tries)


def _values(row: Row, side: str) -> Mapping[str, tuple[float, ...]]:
    return row.values_before if side == "before" else row.values_after


def _plain(value: object) -> object:
    """Numbers as plain ones, to nine significant digits: more is only noise of adding up."""
    return float(f"{value:.9g}") if isinstance(value, float) else value
