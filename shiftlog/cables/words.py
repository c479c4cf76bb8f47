"""What a cable setting means, in words a technician can act on."""

from shiftlog.model.cables import CableAdvice
from shiftlog.model.car import Car

HIDES = (
    "it is missing elsewhere: worn bushes or a bent bracket, a changed lever ratio, the fork, the selector, or a boot "
    "or console in the way"
)
NOT_ACROSS = (
    "the room across the gate was not measured, so what a turn of the select cable does there is not known: press the "
    "lever to either side in gear as well"
)
LEAST_MOVE_MM = 0.05
"""No hand moves a cable by less."""
LOCKOUT = "check the lock-out of reverse"
MOVED_PLANES = "the select cable's change moved the planes against it"
AFTER = (
    "every gear in and out at standstill, engine off and running",
    "the lever free in neutral",
    "only then the road",
)
CLAMP = (
    "loosen both clamps and pin the lever box and the gearbox lever in neutral, as the car's own instructions have it",
    "move the cable in its clamp by the figure above and tighten it without turning it",
    "take out both pins",
)


def say_verdict(advice: CableAdvice) -> str:
    """One sentence or two with the figures."""
    doubt = " This lies within what is uncertain: repeat the test with more presses." if advice.doubtful else ""
    if advice.verdict == "not_by_adjustment":
        pair = " and ".join(advice.binding)
        return (
            f"Even the best setting leaves {pair} short of what is wanted by {advice.missing_mm:.1f} mm. Turning the "
            f"adjuster only moves the trouble from one gear to another; {HIDES}.{doubt}"
        )
    if advice.verdict == "leave":
        if advice.smallest_now_mm >= 0:
            spare = f"the tightest {advice.smallest_now_mm:.1f} mm more"
            return f"Every gear has what it wants, {spare}: leave it alone.{doubt}"
        return (
            f"The change would be {advice.setting.engage_mm:+.1f} mm, which is no more than the test repeats to "
            f"(± {advice.sd_engage_mm:.1f} mm): leave it alone.{doubt}"
        )
    return (
        f"Adjusting cures it: the tightest gear goes from {_margin(advice.smallest_now_mm)} to "
        f"{_margin(advice.smallest_then_mm)}.{doubt}"
    )


def _margin(mm: float) -> str:
    return f"{mm:.1f} mm more than wanted" if mm >= 0 else f"{-mm:.1f} mm less than wanted"


def say_steps(advice: CableAdvice, car: Car) -> tuple[str, ...]:
    """What to do, in order; nothing where the verdict is to leave it or that adjusting does not help."""
    if advice.verdict != "adjust":
        return ()
    moves = [
        _move(name, mm, turns)
        for name, mm, turns in (
            ("engage", advice.setting.engage_mm, advice.setting.engage_turns),
            ("select", advice.setting.select_mm, advice.setting.select_turns),
        )
        if abs(mm) > LEAST_MOVE_MM
    ]
    clamp = CLAMP if car.cables.get("end") == "clamp" else ()
    return (*moves, *clamp, *list_checks(select_moved=abs(advice.setting.select_mm) > LEAST_MOVE_MM))


def list_checks(*, select_moved: bool) -> tuple[str, ...]:
    """What is checked after any change of a cable, in order, before the road."""
    return (f"{LOCKOUT}: {MOVED_PLANES}" if select_moved else LOCKOUT, *AFTER)


def _move(name: str, mm: float, turns: float | None) -> str:
    way = {"engage": ("forward", "rearward"), "select": ("to the right", "to the left")}[name][mm < 0]
    turned = "" if turns is None else f", {turns:+.2g} turn{'s' if abs(turns) != 1 else ''}"
    return f"{name} cable: {abs(mm):.1f} mm {way} at the lever{turned}"
