"""Rules about the room each gear has, from a clearance test."""

from shiftlog.findings.case import Case, Held, Rule
from shiftlog.model.cables import CableAdvice
from shiftlog.model.sign import ADJUST, AGAINST, FOR, OUTSIDE, UNKNOWN

NO_TEST = "no clearance test at this visit; the gate map is laid through the seats, so it cannot show them all moved"
SURE = 2.0
"""Standard uncertainties by which a change must pass nought to be one."""
LEAST_MOVE_MM = 0.1
"""A change of a cable that counts as one (no hand sets it finer)."""


def say_no_advice(case: Case) -> str:
    """Why no clearance test speaks here."""
    return NO_TEST if case.cables_why is None else f"the clearance test gives no setting: {case.cables_why}"


def cures(advice: CableAdvice, cable: str) -> bool:
    """Whether room is short at stops that one cable moves, and a change of that cable, beyond doubt, gives it back."""
    setting = advice.advised
    mm, sd = {
        "engage": (setting.engage_mm, advice.sd_engage_mm),
        "select": (setting.select_mm, advice.sd_select_mm),
    }[cable]
    short = [s for s in advice.stops if (s.side == "home") == (cable == "engage") and s.margin(0.0, 0.0) < 0]
    helps = advice.verdict == "adjust" or advice.stopped_by_range
    return bool(short) and helps and abs(mm) > max(SURE * sd, LEAST_MOVE_MM)


def _one_way(case: Case) -> Held:
    """Forward gears short and rearward long, or the other way round: the engage cable."""
    if case.cables is None:
        return UNKNOWN, say_no_advice(case)
    return (FOR if cures(case.cables, "engage") else AGAINST), say_change(case.cables, "engage")


def say_change(advice: CableAdvice, cable: str) -> str:
    """The best setting of one cable, and what the whole advice says."""
    mm, sd = {
        "engage": (advice.setting.engage_mm, advice.sd_engage_mm),
        "select": (advice.setting.select_mm, advice.sd_select_mm),
    }[cable]
    return f"best setting {mm:+.1f} ± {sd:.1f} mm of the {cable} cable; {advice.why}"


def _missing_travel(case: Case) -> Held:
    if case.cables is None:
        return UNKNOWN, say_no_advice(case)
    advice = case.cables
    missing = advice.verdict == "not_by_adjustment" and not advice.stopped_by_range
    return (FOR if missing else AGAINST), advice.why


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
