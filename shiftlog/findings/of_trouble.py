"""A candidate of a rule that counts a trouble."""

from collections.abc import Sequence

from shiftlog.findings.advice import ADVICE
from shiftlog.findings.candidate import Candidate
from shiftlog.findings.trouble import Trouble, name_shifts
from shiftlog.model.result import Finding
from shiftlog.model.shift import Shift


def candidate_of(
    trouble: Trouble, rule: str, what: str, bad: Sequence[Shift], test: str, *, p: float, least: float, holds: bool
) -> Candidate:
    """A candidate of one rule about one trouble, with its advice."""
    advice = ADVICE[trouble.name, rule]
    finding = Finding(
        what=what, evidence=(*name_shifts(bad), test), look_at=advice.look_at, next_test=advice.next_test,
        also_looks_like=advice.also_looks_like, shifts=tuple(s.number for s in bad), rule=f"{trouble.name} {rule}",
    )  # fmt: skip
    hides = (f"{trouble.name} gear",) if rule == "direction" else ()
    return Candidate(rule=f"{trouble.name} {rule}", finding=finding, p=p, least_p=least, holds=holds, hides=hides)
