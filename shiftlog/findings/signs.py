"""Adjust, replace outside, or open? Rules of common practice, without a source, held against what was measured."""

from shiftlog.findings import signs_across, signs_cables, signs_gears, signs_rests, signs_seats
from shiftlog.findings.case import Case
from shiftlog.findings.signs_tests import find_test_signs
from shiftlog.model.sign import AGAINST, FOR, UNKNOWN, Sign

RULES = (*signs_rests.RULES, *signs_cables.RULES, *signs_across.RULES, *signs_seats.RULES, *signs_gears.RULES)

CAUTION = (
    "Common practice without a source, and no diagnosis: each row may have another cause. A trained technician decides "
    "what is done."
)


def find_signs(case: Case) -> tuple[Sign, ...]:
    """Every rule with its state, those that speak for something first, those not known last."""
    ruled = [
        Sign(
            points_to=rule.points_to, rule=rule.says, state=state, evidence=evidence,
            also_looks_like=rule.also_looks_like, next_test=rule.next_test,
        )
        for rule in RULES
        for state, evidence in [rule.look(case)]
    ]  # fmt: skip
    return tuple(sorted([*ruled, *find_test_signs(case)], key=lambda sign: (FOR, AGAINST, UNKNOWN).index(sign.state)))
