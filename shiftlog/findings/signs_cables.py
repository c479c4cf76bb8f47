"""Rules about the room each gear has, from a clearance test."""

from shiftlog.findings.case import Case, Held, Rule
from shiftlog.model.sign import ADJUST, AGAINST, FOR, OUTSIDE, UNKNOWN

NO_TEST = "no clearance test at this visit; the gate map is laid through the seats, so it cannot show them all moved"


def _one_way(case: Case) -> Held:
    """Forward gears short and rearward long, or the other way round: the engage cable."""
    if case.cables is None:
        return UNKNOWN, NO_TEST
    advice = case.cables
    told = f"best setting {advice.setting.engage_mm:+.1f} ± {advice.sd_engage_mm:.1f} mm of the engage cable"
    return (FOR if advice.verdict == "adjust" else AGAINST), f"{told}; {advice.why}"


def _missing_travel(case: Case) -> Held:
    if case.cables is None:
        return UNKNOWN, NO_TEST
    return (FOR if case.cables.verdict == "not_by_adjustment" else AGAINST), case.cables.why


RULES = (
    Rule(
        points_to=ADJUST, look=_one_way,
        says="All seats lie off the same way: forward gears are short of room and rearward gears have plenty, or the "
        "other way round.",
        also_looks_like="one worn seat in a row that is otherwise even",
        next_test="the clearance test at standstill with three presses a gear",
    ),
    Rule(
        points_to=OUTSIDE, look=_missing_travel,
        says="Even the best setting leaves a gear short: travel is missing.",
        also_looks_like="a fork or selector that is worn or bent, inside",
        next_test="light push and pull in gear against a ruler: free play of bushes and ends",
    ),
)  # fmt: skip
