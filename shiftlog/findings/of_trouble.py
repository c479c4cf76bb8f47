"""A candidate of a rule that counts a trouble."""

from collections.abc import Sequence

from shiftlog.findings.advice import ADVICE
from shiftlog.findings.candidate import Candidate
from shiftlog.findings.chance import more_than_usual
from shiftlog.findings.trouble import Count, Trouble, name_shifts
from shiftlog.model.result import Finding
from shiftlog.model.shift import Shift

SPARED = 0.05
"""Trouble as rare as this by chance is more than usual."""


def no_more_than_usual(some: Count, trouble: Trouble) -> bool:
    """Whether these shifts are spared the trouble."""
    return more_than_usual(some.k, some.n, trouble.usual)[0] > SPARED


def candidate_of(
    trouble: Trouble,
    rule: str,
    what: str,
    bad: Sequence[Shift],
    test: str,
    *,
    p: float,
    least: float,
    holds: bool,
    hides: Sequence[str] = (),
) -> Candidate:
    """A candidate of one rule about one trouble, with its advice; hides : rules that say less of the same trouble."""
    advice = ADVICE[trouble.name, rule]
    finding = Finding(
        what=what, evidence=(*name_shifts(bad), test), look_at=advice.look_at, next_test=advice.next_test,
        also_looks_like=advice.also_looks_like, shifts=tuple(s.number for s in bad), rule=f"{trouble.name} {rule}",
    )  # fmt: skip
    return Candidate(
        rule=f"{trouble.name} {rule}", finding=finding, p=p, least_p=least, holds=holds,
        hides=tuple(f"{trouble.name} {other}" for other in hides),
    )  # fmt: skip
