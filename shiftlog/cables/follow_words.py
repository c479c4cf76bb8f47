"""What came of a change of the cables, and what comes next, in words."""

from collections.abc import Sequence

from shiftlog.cables.checks import list_checks
from shiftlog.model.follow_up import LESS, MORE, CableFollowed, GearFollowed
from shiftlog.model.reading import K95

LEAST_SAID_MM = 0.05
"""Less than this rounds to nothing."""

BACK = "the cable moved the lever against what was foretold: check which way the adjuster turns before the next turn"
LOOK = (
    "a gear that does not go with the others has another stop, or its test was not pressed alike: repeat the test "
    "there before turning again"
)


def say_what_came(
    verdict: str, gears: Sequence[GearFollowed], cables: Sequence[CableFollowed], tightest: str, smallest_mm: float
) -> str:
    """What came of it, then what a turn is worth, then what the tightest gear has now."""
    parts = [_say_verdict(verdict, gears), *(_say_cable(c) for c in cables)]
    parts.append(f"{tightest} is the tightest now, with {_say_margin(smallest_mm)}.")
    return " ".join(part for part in parts if part)


def _say_margin(mm: float) -> str:
    if abs(mm) < LEAST_SAID_MM:
        return "just what is wanted"
    return f"{abs(mm):.1f} mm {'more' if mm > 0 else 'less'} than wanted"


def _say_verdict(verdict: str, gears: Sequence[GearFollowed]) -> str:
    if verdict == "as_foretold":
        return "It came as foretold, as far as the tests can tell."
    if verdict == "other_pitch":
        apart = any(g.verdict in (MORE, LESS) for g in gears)
        each = "" if apart else ", though each by itself came as foretold within what one gear can tell"
        return f"All gears together moved by another amount than was foretold{each}."
    if verdict == "unlike":
        odd = [g.gear for g in gears if g.fits in (MORE, LESS)] or [g.gear for g in gears if g.verdict in (MORE, LESS)]
        return f"{' and '.join(odd)} did not go along with the other gears beyond what is uncertain."
    return "Nothing was foretold that the tests could be held against."


def _say_cable(cable: CableFollowed) -> str:
    name, moved = cable.turning.name, cable.moved_mm
    if not cable.turning.touched:
        return ""
    if moved.value is None:
        return f"What the {name} cable moved cannot be told: {moved.why}."
    said = f"The {name} cable moved the lever {float(moved.value):+.2f} mm (± {K95 * (moved.uncertainty or 0.0):.2f})"
    if cable.turning.foretold_mm is not None:
        said += f" of {cable.turning.foretold_mm:+.2f} foretold"
    turn = cable.mm_per_turn
    if cable.other_way:
        return f"{said}: the other way."
    if turn.value is None:
        return said + "."
    said += f": {float(turn.value):.2f} mm a turn (± {K95 * (turn.uncertainty or 0.0):.2f})"
    known = cable.profile_mm_per_turn
    return said + (f", where the profile says {known:.2f}." if known is not None else ".")


def say_next(cables: Sequence[CableFollowed], verdict: str) -> tuple[str, ...]:
    """What to do now, in order: nothing is driven before the checks at standstill."""
    first = [BACK] if any(c.other_way for c in cables) else [LOOK] if verdict == "unlike" else []
    select = next((c for c in cables if c.turning.name == "select"), None)
    return (*first, *list_checks(select_moved=select is not None and select.turning.touched))
