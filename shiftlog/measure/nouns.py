"""What a row counts, in words: shifts, rests, let-goes, pushes, tries; what all of its kinds are; which way it went."""

from shiftlog.model.comparison import SHIFTS, TESTS, Row
from shiftlog.model.share import Share
from shiftlog.model.told import Told, tell

ALL = "all"
DRIVE = "drive"
"""What a figure of a whole drive is of: a drive has one, and no more of it."""
"""The group of a row over all kinds."""
STANDSTILL_TEST, ROAD_TEST, DRIVING = "standstill test", "road test", "while driving"
"""Where a row was seen, if not in shifts of the drive."""
IN_100 = "in 100"
"""The unit in which shares differ: ten per cent may be of anything."""
_IRREGULAR = {"push": "pushes", "press": "presses", "try": "tries", "let-go": "let-goes"}
_VERDICTS = {"better": "better", "worse": "worse", "same": "no change that matters", "unclear": "unclear"}


def many(noun: str) -> str:
    """Several of what one noun names."""
    return _IRREGULAR.get(noun, f"{noun}s")


def count_of(n: int, noun: str) -> str:
    """``1 push``, ``3 pushes``."""
    return f"{n} {noun if n == 1 else many(noun)}"


def _things(noun: str) -> Told:
    return tell(f"things.{noun}", many(noun))


def say_one_side(noun: str) -> Told:
    """Why values count in no headline that one side alone has."""
    said = f"{many(noun)} of this kind were seen on one side only"
    if noun == "shift":
        said = "this kind of shift was driven on one side only"
    return tell("left.one_side", said, things=_things(noun))


def say_apart(noun: str) -> Told:
    """Why values count in no headline whose drives nothing joins to the others."""
    said = f"{many(noun)} of this kind are in drives that share none with the others"
    return tell("left.apart", said, things=_things(noun))


def say_verdict(row: Row) -> str:
    """The verdict in a few words; too few of what."""
    return f"too few {many(row.counted)}" if row.verdict == "too_few" else _VERDICTS[row.verdict]


def say_kind(row: Row) -> str:
    """What a row is of: a kind of shift, a gear, all of them together."""
    if row.group != ALL:
        return row.group
    if row.where:
        return row.where if row.where != DRIVING else f"{many(row.counted)} {DRIVING}"
    return "all kinds" if row.counted == "shift" else f"all {many(row.counted)}"


def is_share(key: str) -> bool:
    """Whether a measure is a share of yes and no."""
    return key.endswith("_share")


def find_direction(key: str, unit: str, difference: float) -> str:
    """Which way a figure went: ``shorter`` | ``longer`` | ``fewer`` | ``more`` | ``smaller`` | ``larger``."""
    less, more = ("fewer", "more") if is_share(key) else ("shorter", "longer") if unit == "s" else ("smaller", "larger")
    return less if difference < 0 else more


def say_covered(covers: str, noun: str) -> str:
    """What an interval leaves out, beside it: how drives differ where nothing tells; else an empty text."""
    things = {SHIFTS: many(noun), TESTS: "repeats"}.get(covers)
    return f"{things} alone, not the day" if things else ""


def say_count(share: Share) -> str:
    """`3 of 27`, `0 of 20 (at most 17 %)`: a none or an all says how much it leaves open."""
    told = f"{share.k} of {share.n}"
    if 0 < share.k < share.n:
        return told
    return f"{told} (at {'least' if share.k else 'most'} {100 * (share.low if share.k else share.high):.0f} %)"
