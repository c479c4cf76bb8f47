"""A rule about the room a lever in gear has to either side, from a clearance test."""

from shiftlog.findings.case import Case, Held, Rule
from shiftlog.findings.signs_cables import cures, say_change, say_no_advice
from shiftlog.model.sign import ADJUST, AGAINST, FOR, UNKNOWN

NOT_ASIDE = "the lever was not pressed to both sides in gear in the clearance test"


def _one_side(case: Case) -> Held:
    """Short of room to one side in gear and plenty to the other: the select cable."""
    if case.cables is None:
        return UNKNOWN, say_no_advice(case)
    if not case.cables.knows_across:
        return UNKNOWN, NOT_ASIDE
    return (FOR if cures(case.cables, "select") else AGAINST), say_change(case.cables, "select")


RULES = (
    Rule(
        points_to=ADJUST, look=_one_side,
        says="In gear the lever is short of room to one side and has plenty to the other: the select cable is off.",
        also_looks_like="a boot or console that leans on the lever, or a lever box that has shifted on its bolts",
        next_test="the clearance test at standstill, the lever pressed to either side in gear as well",
    ),
)  # fmt: skip
