"""What the car did, counted: k of n before and after, with what a zero still allows."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from shiftlog.compare.kinds import kind_of
from shiftlog.compare.sample import is_marked
from shiftlog.measure.share import share_of
from shiftlog.model.car import NEUTRAL
from shiftlog.model.job import Job
from shiftlog.model.rest import Rest
from shiftlog.model.result import DriveResult
from shiftlog.model.share import Share
from shiftlog.model.shift import Shift

HOME, REFUSED, GRIND, JUMPED, TEST = "home", "refused", "grind", "jumped", "test"
KINDS = (HOME, REFUSED, GRIND, JUMPED)
OF_TESTS = ("found_home", "held", "went_in", "refusals", "strikes", "jump_outs", "hard")
"""Shares of guided tests that a client is told of; let-goes are counted with the other rests."""
WHOLE = ("found_home",)
"""Of these the share of all tries is told, not that of each side."""
_OF_SYMPTOM = {
    "rests wrong": HOME, "refuses": REFUSED, "stiff": REFUSED, "grinds": GRIND, "jumps out": JUMPED, "knocks": GRIND,
}  # fmt: skip
_REFUSALS = ("clean", "second_push", "missed")


@dataclass(frozen=True, eq=False, kw_only=True)
class Tried:
    """Every try of one drive, in order: True where the event came."""

    drive: str
    tries: tuple[bool, ...]


@dataclass(frozen=True, eq=False, kw_only=True)
class Count:
    """One event counted on both sides.

    event : ``home``, ``refused``, ``grind``, ``jumped`` or ``test``; group : a kind of shift, or ``all``
    test, figure : kind of guided test and its figure's name, for ``test``
    """

    event: str
    group: str
    before: tuple[Tried, ...]
    after: tuple[Tried, ...]
    test: str = ""
    figure: str = ""
    label: str = ""

    @property
    def key(self) -> str:
        """A name of its own among the figures of a report."""
        return "/".join(part for part in (self.event, self.group, self.test, self.figure) if part)

    def share(self, side: str) -> Share | None:
        """k of n of a side with its 95 % Clopper-Pearson interval, or None without a try."""
        tries = [one for tried in (self.before if side == "before" else self.after) for one in tried.tries]
        return share_of(sum(tries), len(tries)) if tries else None


def find_counts(before: Sequence[DriveResult], after: Sequence[DriveResult], job: Job | None) -> tuple[Count, ...]:
    """All counts with a try on either side; those that the complaint is about first."""
    asked = _asked(job) if job else []
    events = list(dict.fromkeys([*asked, *KINDS]))
    shifts = tuple(job.shifts) if job else ()
    counts = [c for event in events for c in _of_event(event, shifts, before, after, asked=event in asked)]
    counts += _of_tests(before, after)
    return tuple(c for c in counts if any(t.tries for t in (*c.before, *c.after)))


def count_asked(job: Job) -> int:
    """How many events a complaint is about."""
    return len(_asked(job))


def _asked(job: Job) -> list[str]:
    return list(dict.fromkeys(_OF_SYMPTOM[s] for s in job.symptoms if s in _OF_SYMPTOM))


def _of_event(event: str, shifts: Sequence[str], before, after, *, asked: bool) -> list[Count]:
    count = _COUNTERS[event]
    groups = [g for g in shifts if event in (REFUSED, GRIND)] + ["all"]
    found = [
        Count(event=event, group=group, before=_sides(before, count, group), after=_sides(after, count, group))
        for group in groups
    ]
    if event == JUMPED and not asked:
        found = [c for c in found if any(True in t.tries for t in (*c.before, *c.after))]
    return found


Counter = Callable[[DriveResult, str], tuple[bool, ...]]


def _sides(results: Sequence[DriveResult], count: Counter, group: str) -> tuple[Tried, ...]:
    return tuple(Tried(drive=r.head.id, tries=count(r, group)) for r in results)


def _came_home(result: DriveResult, _group: str) -> tuple[bool, ...]:
    home = result.gate.layout.home if result.gate else None
    if home is None:
        return ()
    return tuple(r.plane == home for r in let_go_rests(result))


def let_go_rests(result: DriveResult) -> tuple[Rest, ...]:
    """Rests of a lever that was let go, outside bends: those that count, and that the picture shows.

    In a marked release test every rest counts, moved or not: a lever that friction holds must not drop out.
    """
    return tuple(r for r in result.rests if not r.in_bend and (r.released or is_marked(r, result)))


def _refused(result: DriveResult, group: str) -> tuple[bool, ...]:
    judged = [s for s in _lever_shifts(result, group) if s.outcome in _REFUSALS]
    return tuple(s.outcome != "clean" for s in judged)


def _ground(result: DriveResult, group: str) -> tuple[bool, ...]:
    judged = [s for s in _under_way(result, group) if s.value("grind") is not None]
    return tuple(bool(s.value("grind")) for s in judged)


def _jumped(result: DriveResult, group: str) -> tuple[bool, ...]:
    return tuple(s.outcome == "jumped_out" for s in _lever_shifts(result, group) if s.from_gear not in (None, NEUTRAL))


def _lever_shifts(result: DriveResult, group: str) -> list[Shift]:
    return [s for s in _under_way(result, group) if s.seen_by == "lever"]


def _under_way(result: DriveResult, group: str) -> list[Shift]:
    """Shifts that moved: at standstill refusals are normal, tooth meets tooth."""
    return [s for s in result.shifts if not s.standing and is_of(s, group)]


def is_of(shift: Shift, group: str) -> bool:
    """Whether a shift is of a kind (``2-3``), into a gear (``R``), or any (``all``)."""
    if group == "all":
        return True
    return kind_of(shift).split(" ")[0] == group if "-" in group else shift.to_gear == group


_COUNTERS: dict[str, Counter] = {HOME: _came_home, REFUSED: _refused, GRIND: _ground, JUMPED: _jumped}


TestKey = tuple[str, str, str, str]
"""Kind of test, key and label of the figure, and what it is of."""


def _of_tests(before: Sequence[DriveResult], after: Sequence[DriveResult]) -> list[Count]:
    """Counts of guided tests: one for each kind of test and figure that is a share."""
    keys = dict.fromkeys(key for r in (*before, *after) for key in _test_shares(r))
    return [
        Count(
            event=TEST, group=key[3], test=key[0], figure=key[1], label=key[2], before=_test_side(before, key),
            after=_test_side(after, key),
        )
        for key in keys
    ]  # fmt: skip


def _test_shares(result: DriveResult) -> dict[TestKey, list[Share]]:
    """Those shares of a drive's guided tests, several spans of one kind together."""
    found: dict[TestKey, list[Share]] = {}
    for guided in result.guided:
        for figure in guided.figures:
            whole = not figure.of or figure.key not in WHOLE
            if figure.share is not None and figure.key in OF_TESTS and whole:
                found.setdefault((guided.kind, figure.key, figure.label, figure.of), []).append(figure.share)
    return found


def _test_side(results: Sequence[DriveResult], key: TestKey) -> tuple[Tried, ...]:
    sides = [(r.head.id, _test_shares(r).get(key, [])) for r in results]
    return tuple(
        Tried(drive=drive, tries=tuple(j < s.k for s in shares for j in range(s.n))) for drive, shares in sides
    )
