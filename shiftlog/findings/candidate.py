"""A finding that may be chance, and how those are chosen that are not."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from shiftlog.model.result import Finding

FALSE_SHARE = 0.02
"""Of healthy drives, at most this share gets a finding at all, however many comparisons were made."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Candidate:
    """A finding with its chance.

    rule : what it is about; hides : rules that say less, left out where this one stands
    p : probability of such evidence by chance; least_p : the smallest that the counts at hand could have given
    holds : whether what the finding says beside its test is so
    """

    rule: str
    finding: Finding
    p: float
    least_p: float
    holds: bool = True
    hides: tuple[str, ...] = ()


def choose_findings(candidates: Sequence[Candidate], *, false_share: float = FALSE_SHARE) -> tuple[Finding, ...]:
    """Those beyond chance, the surest first, each with its corrected p among the evidence.

    Bonferroni's correction over the comparisons that could have shown anything at all (Tarone, Biometrics 46, 1990): a
    gear entered twice, or a drive without a grind, costs the others nothing.
    """
    count = _count_able(candidates, false_share)
    sure = sorted((c for c in candidates if c.holds and c.p <= false_share / count), key=lambda c: c.p)
    hidden = {rule for c in sure for rule in c.hides}
    return tuple(_with_chance(c, count) for c in sure if c.rule not in hidden)


def _count_able(candidates: Sequence[Candidate], false_share: float) -> int:
    for count in range(1, len(candidates) + 1):
        if sum(c.least_p <= false_share / count for c in candidates) <= count:
            return count
    return max(len(candidates), 1)


def _with_chance(candidate: Candidate, count: int) -> Finding:
    compared = "the only comparison possible" if count == 1 else f"corrected for {count} comparisons"
    p = min(candidate.p * count, 1.0)
    told = "p < 0.0001" if p < 1e-4 else f"p = {p:.2g}"
    *shifts, test = candidate.finding.evidence
    return replace(candidate.finding, evidence=(*shifts, f"{test}: {told}, {compared}"))
