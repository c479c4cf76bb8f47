"""Marked tests at standstill: counts between which no day lies, only the repair and the remounting."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from shiftlog.compare.drafts import Draft
from shiftlog.compare.evidence import weigh_counts
from shiftlog.compare.kinds import ALL
from shiftlog.compare.sample import is_marked
from shiftlog.measure.catalogue import MEASURES, Measure
from shiftlog.model.comparison import LeftOutCount
from shiftlog.model.result import DriveResult

UNDER_WAY = "rests while driving"
PLANES = "wrong_plane_share"

# Tests under way are none of these: a day lies between them.
GUIDED: Mapping[str, tuple[str, str]] = {"straight_push_share": ("straight_push", "found_home")}
"""Measure → the kind of guided test at standstill and the key of its figure over all sides."""

Answers = dict[str, tuple[float, ...]]
"""For each drive its answers, 1 for yes."""


def draft_standstill(
    drafts: Sequence[Draft], before: Sequence[DriveResult], after: Sequence[DriveResult],
    names: tuple[Sequence[str], Sequence[str]],
) -> list[Draft]:  # fmt: skip
    """The rows with those of marked tests before them; a headline of the same measure becomes a kind of its own."""
    sides = list(zip((before, after), names, strict=True))
    found = [
        _draft(measure, *(_answers(measure.key, *side) for side in sides))
        for measure in MEASURES.values()
        if measure.key == PLANES or measure.key in GUIDED
    ]
    rows = [row for row in found if row is not None]
    told = {row.measure.key for row in rows}
    return rows + [replace(d, group=UNDER_WAY) if d.measure.key in told and d.group == ALL else d for d in drafts]


def _draft(measure: Measure, before: Answers, after: Answers) -> Draft | None:
    if not before or not after:
        return None
    flat = [[v for some in side.values() for v in some] for side in (before, after)]
    nothing = LeftOutCount(before=0, after=0, why=())
    return Draft(
        measure=measure, group=ALL, values=(before, after), evidence=weigh_counts(*flat), left_out=nothing,
        margin=measure.margin, counted="let-go" if measure.key == PLANES else "",
    )  # fmt: skip


def _answers(key: str, side: Sequence[DriveResult], names: Sequence[str]) -> Answers:
    take = _planes if key == PLANES else _guided
    found = {name: take(result, key) for result, name in zip(side, names, strict=True)}
    return {name: answers for name, answers in found.items() if answers}


def _planes(result: DriveResult, _: str) -> tuple[float, ...]:
    """Every rest of a marked release test counts, moved or not."""
    home = result.gate.layout.home if result.gate else None
    if home is None:
        return ()
    return tuple(float(r.plane != home) for r in result.rests if is_marked(r, result))


def _guided(result: DriveResult, key: str) -> tuple[float, ...]:
    kind, name = GUIDED[key]
    figures = (test.figure(name) for test in result.guided if test.kind == kind)
    return tuple(v for f in figures if f and f.share for v in (1.0,) * f.share.k + (0.0,) * (f.share.n - f.share.k))
