"""Kinds of shift in which the car did more ill after: what got better elsewhere must not hide them."""

from collections.abc import Sequence

from shiftlog.compare.kinds import ALL
from shiftlog.compare.verdict import ALPHA
from shiftlog.measure.catalogue import MEASURES
from shiftlog.measure.nouns import say_count
from shiftlog.measure.share import share_of
from shiftlog.model.comparison import Row
from shiftlog.model.told import Told, tell

ILLS = ("refused_share", "grind_share", "jumped_share")


def find_grown(rows: Sequence[Row]) -> tuple[Row, ...]:
    """Rows of single kinds of shift that were refused, ground or let go more often after by their own p alone.

    No claims, as among many kinds one or another does so by chance; a doubt asks for less than a claim.
    """
    return tuple(row for row in rows if row.measure in ILLS and row.group != ALL and _has_grown(row))


def _has_grown(row: Row) -> bool:
    return row.verdict == "unclear" and row.p is not None and row.p <= ALPHA and (row.difference or 0.0) > 0


def say_grown(row: Row) -> Told:
    """`refusals 5-4: 0 of 18 before, 13 of 18 after; …`: to be looked at, and no claim."""
    what = tell(f"measure.{row.measure}", MEASURES[row.measure].label.lower())
    before, after = (share_of(k, n) for k, n in ((row.k_before, row.n_before), (row.k_after, row.n_after)))
    said = f"{what} {row.group}: {say_count(before)} before, {say_count(after)} after"
    return tell(
        "caveat.grown", f"{said}; it may be chance, as many kinds were looked at, and wants another look",
        what=what, kind=row.group, k0=before.k, n0=before.n, k1=after.k, n1=after.n,
    )  # fmt: skip
