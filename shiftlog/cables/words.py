"""What a cable setting means, in words a technician can act on."""

from shiftlog.cables.checks import list_checks
from shiftlog.cables.programme import BINDS_MM, NAMES
from shiftlog.cables.say_stops import name_all, name_stop, say_margin, say_room_short
from shiftlog.model.cables import CableAdvice, Setting, Stop
from shiftlog.model.car import Car
from shiftlog.model.reading import K95

HIDES = "worn bushes or a bent bracket, a changed lever ratio, the fork, the selector, or a boot or console in the way"
HIDES_ACROSS = (
    "worn bushes or a bent bracket of the select cable, play of the lever in its box, or a boot or console in the way"
)
NOT_ACROSS = (
    "the room across the gate was not measured, so what a turn of the select cable does there is not known and it is "
    "left as it is: press the lever to either side in gear as well"
)
LEAST_MOVE_MM = 0.05
"""No hand moves a cable by less."""
CLAMP = (
    "loosen both clamps and pin the lever box and the gearbox lever in neutral, as the car's own instructions have it",
    "move the cable in its clamp by the figure above and tighten it without turning it",
    "take out both pins",
)
REPEAT = "This lies within what is uncertain: repeat the test with more presses."
NOT_COUPLED = (
    "How far one cable also moves the lever along the other's way is not known and taken as none: press every gear "
    "again after the change, or give engage_per_select and select_per_engage in car.toml."
)


def say_verdict(advice: CableAdvice) -> str:
    """One sentence or two with the figures, then why they may be doubted."""
    said = {"not_by_adjustment": _say_short, "leave": _say_leave, "adjust": _say_cure}[advice.verdict](advice)
    return " ".join([said, *say_doubts(advice)])


def say_doubts(advice: CableAdvice) -> list[str]:
    """A sentence for each reason to doubt."""
    leans = (
        f"The lever lay on its stop in {name_all(advice.leaning)}: what there is missing is not known, so that the "
        "figures are bounds and the change may have to be greater. Press every gear again after it."
    )
    return [{"uncertain": REPEAT, "leans": leans, "coupling": NOT_COUPLED}[doubt] for doubt in advice.doubts]


def _tight(advice: CableAdvice) -> list[Stop]:
    at = advice.setting.engage_mm, advice.setting.select_mm
    return [stop for stop in advice.stops if stop.margin(*at) <= advice.smallest_then_mm + BINDS_MM]


def _say_short(advice: CableAdvice) -> str:
    tight = _tight(advice)
    lacks = say_room_short(tight, advice.missing_mm, at_least=any(stop.at_most for stop in tight))
    if advice.stopped_by_range and advice.beyond_smallest_mm is not None:
        ends = " and ".join(f"the adjuster of the {name} cable" for name in advice.at_end)
        then = say_margin(advice.beyond_smallest_mm, at_most=bool(advice.leaning))
        return (
            f"{ends[0].upper()}{ends[1:]} {'ends' if len(advice.at_end) == 1 else 'end'} too early: as far as it goes "
            f"{lacks}. With {_say_change(advice.beyond)} the tightest would have {then}."
        )
    sides = {"home" if stop.side == "home" else "across" for stop in tight}
    hides = "; or ".join(text for key, text in (("home", HIDES), ("across", HIDES_ACROSS)) if key in sides)
    return (
        f"Even at the best setting {lacks}. Turning the adjuster only moves the trouble from one stop to another; it "
        f"is missing elsewhere: {hides}."
    )


def _say_leave(advice: CableAdvice) -> str:
    if advice.smallest_now_mm >= 0:
        spare = say_margin(advice.smallest_now_mm, at_most=advice.tightest(0.0, 0.0).at_most)
        every = "Every gear pressed" if advice.not_pressed else "Every gear"
        return f"{every} has what it wants, the tightest {spare}: leave it alone."
    sds = (advice.sd_engage_mm, advice.sd_select_mm)
    moves = [
        f"{mm:+.1f} mm of the {name} cable (± {max(K95 * sd, 0.1):.1f} mm)"
        for name, mm, sd in zip(NAMES, (advice.setting.engage_mm, advice.setting.select_mm), sds, strict=True)
        if abs(mm) > LEAST_MOVE_MM
    ]
    if not moves:
        return "The change would be less than 0.1 mm, and no hand moves a cable by so little: leave it alone."
    return f"The change would be {' and '.join(moves)}, which is no more than the test repeats to: leave it alone."


def _say_cure(advice: CableAdvice) -> str:
    bound = any(stop.at_most for stop in _tight(advice))
    cures = "may cure it" if advice.leaning else "cures it"
    now = advice.tightest(0.0, 0.0)
    ends = "".join(f" The adjuster of the {name} cable is then at its end." for name in advice.at_end)
    return (
        f"Adjusting {cures}: the tightest, {name_stop(now)}, has "
        f"{say_margin(advice.smallest_now_mm, at_most=now.at_most)}; after it the tightest has "
        f"{say_margin(advice.smallest_then_mm, at_most=bound)}.{ends}"
    )


def _say_change(setting: Setting | None) -> str:
    """A change beyond the adjusters' ranges, cable by cable."""
    assert setting is not None
    amounts = zip(NAMES, (setting.engage_mm, setting.select_mm), strict=True)
    moves = [
        f"the {name} cable moved {abs(mm):.1f} mm {_way(name, mm)}" for name, mm in amounts if abs(mm) > LEAST_MOVE_MM
    ]
    return " and ".join(moves)


def say_across(advice: CableAdvice) -> str:
    """What to press where the room across the gate is not known to both sides; empty where it is."""
    known = advice.sides_known
    if len(known) == 2:
        return ""
    if not known:
        return f"{NOT_ACROSS[0].upper()}{NOT_ACROSS[1:]}."
    other = "left" if known[0] == "right" else "right"
    return (
        f"The room across the gate is known to the {known[0]} alone: the lever was not pressed to the {other} in gear, "
        "or lies on its stop there. The select cable is left as it is: press the lever to either side."
    )


def say_not_pressed(advice: CableAdvice) -> str:
    """Gears of which nothing is known; empty where all were pressed."""
    if not advice.not_pressed:
        return ""
    return f"Not pressed: {name_all(advice.not_pressed)}. What a change leaves there is not known: press them as well."


def say_steps(advice: CableAdvice, car: Car) -> tuple[str, ...]:
    """What to do, in order; nothing where the verdict is to leave it or that adjusting does not help."""
    if advice.verdict != "adjust" and not advice.stopped_by_range:
        return ()
    wanted = advice.advised
    turns = wanted.engage_turns, wanted.select_turns
    moves = [
        _move(name, mm, turn)
        for name, mm, turn in zip(NAMES, (wanted.engage_mm, wanted.select_mm), turns, strict=True)
        if abs(mm) > LEAST_MOVE_MM
    ]
    ends = [_say_end(name, advice) for name in advice.at_end] if advice.stopped_by_range else []
    clamp = CLAMP if car.cables.get("end") == "clamp" else ()
    select = abs(wanted.select_mm) > LEAST_MOVE_MM
    return (*moves, *ends, *clamp, *list_checks(select_moved=select, press_again=_is_bound(advice)))


def _is_bound(advice: CableAdvice) -> bool:
    return any(doubt in ("leans", "coupling") for doubt in advice.doubts) or bool(advice.not_pressed)


def _say_end(name: str, advice: CableAdvice) -> str:
    assert advice.beyond is not None
    has, wants = ((s.engage_mm, s.select_mm)[NAMES.index(name)] for s in (advice.setting, advice.beyond))
    return (
        f"the adjuster of the {name} cable ends at {has:+.1f} mm: set it there, and take up the other "
        f"{abs(wants - has):.1f} mm {_way(name, wants - has)} at the other end of the cable, with a longer thread, or "
        "where the cable is clamped"
    )


def _way(name: str, mm: float) -> str:
    return {"engage": ("forward", "rearward"), "select": ("to the right", "to the left")}[name][mm < 0]


def _move(name: str, mm: float, turns: float | None) -> str:
    turned = "" if turns is None else f", {turns:+.2g} turn{'s' if abs(turns) != 1 else ''}"
    return f"{name} cable: {abs(mm):.1f} mm {_way(name, mm)} at the lever{turned}"
