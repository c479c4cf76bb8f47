"""What the car did, counted: k of n before and after, with what a zero still allows.

Every count is a row of the comparison: nothing is counted a second time, and what the comparison left out is left out.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from shiftlog.compare.evidence import LEAST_VALUES
from shiftlog.compare.kinds import kind_of
from shiftlog.measure.catalogue import MEASURES
from shiftlog.measure.nouns import ALL
from shiftlog.measure.share import share_of
from shiftlog.model.comparison import Row
from shiftlog.model.job import Job
from shiftlog.model.share import Share
from shiftlog.model.shift import Shift

HOME, REFUSED, GRIND, JUMPED, TEST = "home", "refused", "grind", "jumped", "test"
MEASURE_OF = {
    HOME: "wrong_plane_share", REFUSED: "refused_share", GRIND: "grind_share", JUMPED: "jumped_share",
}  # fmt: skip
"""Event → the measure whose rows count it; a lever comes home where it does not lie in a wrong plane."""
TOLD_TESTS = (
    "straight_push_share", "lockout_held_share", "lockout_reverse_share", "engine_refused_share", "gate_strike_share",
    "jump_out_share", "warm_up_hard_share",
)  # fmt: skip
"""Shares of guided tests that a client is told of."""
WHOLE = ("straight_push_share",)
"""Of these the share of all tries is told, not that of each side."""
_OF_SYMPTOM = {
    "rests wrong": HOME, "refuses": REFUSED, "stiff": REFUSED, "grinds": GRIND, "jumps out": JUMPED, "knocks": GRIND,
}  # fmt: skip
Names = tuple[Sequence[str], Sequence[str]]
"""The drives of each side by their names in the comparison."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Tried:
    """Every try of one drive, in order: True where the event came."""

    drive: str
    tries: tuple[bool, ...]


@dataclass(frozen=True, eq=False, kw_only=True)
class Count:
    """One event counted on both sides.

    event : ``home``, ``refused``, ``grind``, ``jumped`` or ``test``; group : a kind of shift, or ``all``
    row : of the comparison that it is; where : in what kind of test, as the row has it
    """

    event: str
    group: str
    before: tuple[Tried, ...]
    after: tuple[Tried, ...]
    row: Row

    @property
    def where(self) -> str:
        """In what kind of test, or ``while driving``; "" for shifts of the drive."""
        return self.row.where

    @property
    def test(self) -> str:
        """The kind of guided test, or ""."""
        return MEASURES[self.row.measure].test if self.event == TEST else ""

    @property
    def figure(self) -> str:
        """What a guided test counts, by its figure's key, or ""."""
        return MEASURES[self.row.measure].figure if self.event == TEST else ""

    @property
    def label(self) -> str:
        """What is counted, in the catalogue's words."""
        return MEASURES[self.row.measure].label

    @property
    def key(self) -> str:
        """A name of its own among the figures of a report."""
        where = self.where if self.event == HOME else ""
        return "/".join(part for part in (self.event, self.group, self.test, self.figure, where) if part)

    def tried(self, side: str) -> tuple[Tried, ...]:
        """Of a side the drives that have a try."""
        return tuple(t for t in (self.before if side == "before" else self.after) if t.tries)

    def share(self, side: str) -> Share | None:
        """k of n of a side with its 95 % Clopper-Pearson interval, or None without a try."""
        tries = [one for tried in self.tried(side) for one in tried.tries]
        return share_of(sum(tries), len(tries)) if tries else None


def find_counts(rows: Sequence[Row], names: Names, job: Job | None) -> tuple[Count, ...]:
    """All counts with a try on either side; those that the complaint is about first.

    Shifts in a manner of their own (paused, double-declutched) that are too few to compare and in which nothing came
    are left to the engineer's table.
    """
    asked = asked_events(job)
    shifts = tuple(job.shifts) if job else ()
    events = list(dict.fromkeys([*asked, *MEASURE_OF]))
    counts = [_count(event, row, names) for event in events for row in _rows_of(event, rows, shifts)]
    counts = [c for c in counts if c.event != JUMPED or JUMPED in asked or _came(c)]
    counts = [c for c in counts if c.group == ALL or " " not in c.group or _came(c) or _tries(c) >= LEAST_VALUES]
    counts += [_count(TEST, row, names) for row in _of_tests(rows)]
    return tuple(c for c in counts if c.share("before") or c.share("after"))


def on_both_sides(counts: Sequence[Count]) -> list[Count]:
    """Those that were tried before and after."""
    return [count for count in counts if count.share("before") and count.share("after")]


NOT_TICKED = "what the complaint is about is not ticked in the record: the counts that speak to it cannot stand first"


def say_not_ticked(job: Job) -> str:
    """That nobody said what the client's words are about, or an empty text."""
    return NOT_TICKED if job.complaint.strip() and not job.symptoms else ""


def asked_events(job: Job | None) -> list[str]:
    """The events that a complaint is about."""
    return list(dict.fromkeys(_OF_SYMPTOM[s] for s in job.symptoms if s in _OF_SYMPTOM)) if job else []


def _tries(count: Count) -> int:
    return sum(len(t.tries) for t in (*count.before, *count.after))


def _came(count: Count) -> bool:
    return any(True in t.tries for t in (*count.before, *count.after))


def _rows_of(event: str, rows: Sequence[Row], shifts: Sequence[str]) -> list[Row]:
    """Those of the kinds a complaint names, then that over all kinds; of rests the marked tests before the drives."""
    mine = [row for row in rows if row.measure == MEASURE_OF[event]]
    if event == HOME:
        return sorted(mine, key=lambda row: row.group != ALL)
    named = [row for asked in shifts for row in mine if row.group != ALL and is_kind_of(row.group, asked)]
    return [*dict.fromkeys(named), *(row for row in mine if row.group == ALL)]


def is_kind_of(kind: str, asked: str) -> bool:
    """Whether a kind of shift (``2-3 paused``) is one asked for: ``2-3``, or into a gear, ``3``."""
    gears = kind.split(" ")[0]
    return gears == asked if "-" in asked else gears.rpartition("-")[2] == asked


def _of_tests(rows: Sequence[Row]) -> list[Row]:
    """Of each share of a test the rows of its gears or states, or the one over all of them."""
    found = []
    for key in TOLD_TESTS:
        mine = [row for row in rows if row.measure == key]
        parts = [] if key in WHOLE else [row for row in mine if row.group != ALL]
        found += parts or [row for row in mine if row.group == ALL]
    return found


def _count(event: str, row: Row, names: Names) -> Count:
    came = 0.0 if event == HOME else 1.0
    group = ALL if event == HOME else row.group
    before, after = (
        _tried(values, own, came) for values, own in zip((row.values_before, row.values_after), names, strict=True)
    )
    return Count(event=event, group=group, before=before, after=after, row=row)


def _tried(values: Mapping[str, Sequence[float]], names: Sequence[str], came: float) -> tuple[Tried, ...]:
    return tuple(Tried(drive=name, tries=tuple(v == came for v in values.get(name, ()))) for name in names)


def is_of(shift: Shift, group: str) -> bool:
    """Whether a shift is of a kind (``2-3``), into a gear (``R``), or any (``all``)."""
    return group == ALL or is_kind_of(kind_of(shift), group)
