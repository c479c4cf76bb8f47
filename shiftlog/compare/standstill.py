"""Let-goes of marked release tests: counts between which no day lies, only the repair and the remounting."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from shiftlog.compare.drafts import Draft
from shiftlog.compare.evidence import weigh_tests_of_days
from shiftlog.compare.kinds import ALL
from shiftlog.compare.sample import RESTS_OF
from shiftlog.measure.catalogue import MEASURES
from shiftlog.measure.nouns import DRIVING, STANDSTILL_TEST
from shiftlog.model.comparison import LeftOutCount
from shiftlog.model.result import DriveResult
from shiftlog.model.told import tell

UNDER_WAY = tell("kind.under_way", "rests while driving")
PLANES = "wrong_plane_share"

Answers = Mapping[str, tuple[float, ...]]
"""For each drive its answers, 1 for yes."""


def draft_standstill(
    drafts: Sequence[Draft], before: Sequence[DriveResult], after: Sequence[DriveResult],
    names: tuple[Sequence[str], Sequence[str]],
) -> list[Draft]:  # fmt: skip
    """The rows with that of the marked tests before them.

    Where both sides have a test it leads, and rests while driving become a kind of their own; else they lead.
    """
    rest = [replace(d, where=DRIVING) if d.measure.key == PLANES else d for d in drafts]
    answers = [_answers(side, own) for side, own in zip((before, after), names, strict=True)]
    if not any(answers):
        return rest
    leads = all(answers) or not any(d.measure.key == PLANES for d in rest)
    marked = _draft(ALL if leads else STANDSTILL_TEST, answers)
    if not leads:
        return [*rest, marked]
    return [marked, *(replace(d, group=UNDER_WAY) if d.measure.key == PLANES else d for d in rest)]


def _draft(group: str, sides: Sequence[Answers]) -> Draft:
    evidence = weigh_tests_of_days(*(list(side.values()) for side in sides))
    return Draft(
        measure=MEASURES[PLANES], group=group, values=(sides[0], sides[1]), evidence=evidence,
        left_out=LeftOutCount(before=0, after=0, why=()),
        margin=MEASURES[PLANES].margin, counted="let-go", where=STANDSTILL_TEST,
    )  # fmt: skip


def _answers(side: Sequence[DriveResult], names: Sequence[str]) -> Answers:
    found = {name: _planes(result) for result, name in zip(side, names, strict=True)}
    return {name: answers for name, answers in found.items() if answers}


def _planes(result: DriveResult) -> tuple[float, ...]:
    """Every rest of a marked release test counts, moved or not."""
    home = result.gate.layout.home if result.gate else None
    if home is None:
        return ()
    return tuple(float(r.plane != home) for r in RESTS_OF[STANDSTILL_TEST](result))
