"""What no statistic may claim: a cure that is a worse fault, a cold complaint cured on warm drives, a gentler hand."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from shiftlog.compare.caveats import say_hand
from shiftlog.compare.cold_stretch import ColdSides, say_lacking
from shiftlog.compare.kinds import ALL
from shiftlog.compare.pairing import BY_HAND
from shiftlog.model.comparison import Row
from shiftlog.model.told import tell

BAULK = "baulk_time_s"
TIMES = (BAULK, "shift_time_s", "neutral_time_s")
BY_CHANCE = 0.2
"""Rarer than this by chance, and more trouble speaks against a gain: a doubt asks for less than a claim."""
WITH_HAND = {
    "baulk_time_s": -1, "shift_time_s": -1, "neutral_time_s": -1, "drive_gap_s": -1, "knock_peak_mps2": 1,
    "knock_energy_m2s3": 2,
}  # fmt: skip
"""The power of the hand's speed with which a figure goes at the most: a way takes its time, a blow its speed."""
FALSE_SHARE = 0.02
"""Of shifts: grinds that the sound alone may feign, at twice the rate of false alarms the search for them allows."""


def guard_rows(rows: Sequence[Row], *, hand: float | None, cold: str | None) -> tuple[Row, ...]:
    """The rows with verdicts taken back where something else speaks against them, and with what the hand did.

    hand : by what share the hand was harder after; cold : why cold and warm drives cannot be compared
    """
    trouble = {(r.measure, r.group): r for r in rows if r.measure in ("refused_share", "grind_share")}
    return tuple(_with_hand(_warm(_no_gain(row, trouble), cold), hand) for row in rows)


def _no_gain(row: Row, trouble: Mapping[tuple[str, str], Row]) -> Row:
    """A shorter baulk with a grind or more refusals is never better: a worn cone lets the hand crash through."""
    if row.measure not in TIMES or row.verdict != "better":
        return row
    refused, ground = (trouble.get((key, row.group)) for key in ("refused_share", "grind_share"))
    if refused is not None and _is_more(refused):
        return take_back(row, tell("guard.refused", "more gears were refused, so that it is no gain"))
    if (ground is not None and _is_more(ground)) or _grinds_elsewhere(ground, trouble.get(("grind_share", ALL))):
        return take_back(row, tell("guard.ground", "more shifts ground, so that it is no gain"))
    if row.measure == BAULK and ground is not None and (ground.after or 0.0) > FALSE_SHARE:
        return take_back(
            row,
            tell("guard.clashed", "teeth clashed after as well, and a cone that lets a grind through stands shorter"),
        )
    if row.measure == BAULK and (ground is None or not (ground.n_before and ground.n_after)):
        return _add(row, tell("guard.unheard", "whether teeth clashed could not be heard on both sides"))
    return row


def _grinds_elsewhere(ground: Row | None, everywhere: Row | None) -> bool:
    """Whether a kind only happened not to grind: all together grind more, and it does not grind less."""
    less = ground is not None and (ground.difference or 0.0) < 0
    return everywhere is not None and everywhere.verdict == "worse" and not less


def _is_more(trouble: Row) -> bool:
    """Whether there was more of it after, by more than chance would have."""
    grew = (trouble.difference or 0.0) > 0
    return grew and (trouble.verdict == "worse" or (trouble.p is not None and trouble.p < BY_CHANCE))


def _add(row: Row, note: str) -> Row:
    return replace(row, why=f"{row.why}; {note}", notes=(*row.notes, note))


def _warm(row: Row, cold: str | None) -> Row:
    if cold is None or row.verdict not in ("better", "worse", "same"):
        return row
    return take_back(row, cold)


def guard_cold(rows: Sequence[Row], sides: ColdSides) -> tuple[Row, ...]:
    """For a complaint about the cold gearbox: nothing is better or the same without cold drives; worse stays worse."""
    if not sides.lacks:
        return tuple(rows)
    why = say_lacking(sides.lacks)
    return tuple(take_back(row, why) if row.verdict in ("better", "same") else row for row in rows)


def take_back(row: Row, but: str) -> Row:
    """The row, unclear for what speaks against it."""
    return replace(row, verdict="unclear", why=f"{row.why}; but {but}", taken_back=but)


def _with_hand(row: Row, hand: float | None) -> Row:
    said = say_hand(hand)
    if said is None or row.measure not in BY_HAND or row.verdict == "too_few":
        return row
    row = _add(row, said)
    if row.measure not in WITH_HAND or row.verdict == "unclear":
        return row
    alone = row.before * ((1 + hand) ** WITH_HAND[row.measure] - 1)
    if row.verdict == "same":
        hides = "the hand was not as hard before as after, which alone could hide a change"
        return row if is_within(row, alone) else take_back(row, tell("guard.hand_hides", hides))
    if _is_beyond(row, alone):
        return row
    way = "gentler" if hand < 0 else "harder"
    return take_back(row, tell(f"guard.hand_{way}", f"the hand was {way} after, which alone could do it"))


def is_within(row: Row, alone: float) -> bool:
    """Whether the difference would still not matter without what something else alone makes of it."""
    return row.margin is None or (-row.margin < row.ci_low - alone and row.ci_high - alone < row.margin)


def _is_beyond(row: Row, alone: float) -> bool:
    """Whether all of the interval lies beyond what the hand alone would make of the figure before."""
    return row.ci_high < min(alone, 0.0) if row.difference < 0 else row.ci_low > max(alone, 0.0)
