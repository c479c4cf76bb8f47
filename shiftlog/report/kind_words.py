"""What a row or a count is of, in the page's language: a kind of shift, a gear, a side, a state, a configuration."""

from shiftlog.compare.standstill import UNDER_WAY
from shiftlog.measure.catalogue import MEASURES
from shiftlog.measure.nouns import ALL, STANDSTILL_TEST
from shiftlog.model.comparison import Row
from shiftlog.model.told import Told
from shiftlog.report.language import Language

TOGETHER = (ALL, STANDSTILL_TEST, UNDER_WAY)
"""Groups that are no kind: all of a row's kinds, told by where they were seen."""
AT_REST = frozenset(key for key, measure in MEASURES.items() if measure.of == "rest") | {"hysteresis_mm"}
"""Measures of the lever at rest, which know no kinds."""
PART = ", "


def kind_name(row: Row, words: Language) -> str:
    """All of a row's kinds together by where they were seen, else the kind itself."""
    if row.group not in TOGETHER:
        return group_name(row.group, words)
    if row.where:
        return where_name(row, words)
    return words.say("kind.rest" if row.measure in AT_REST else "kind.all")


def where_name(row: Row, words: Language) -> str:
    """In what kind of test, or while driving."""
    return words.say(f"where.{where_key(row)}")


def where_key(row: Row) -> str:
    """As the keys of texts have it."""
    return row.where.replace(" ", "_")


def group_name(group: str, words: Language) -> str:
    """Gears are the same in every language; what stands beside them has its word, or is the shop's own."""
    if isinstance(group, Told):
        return words.tell(group)
    return PART.join(_part(part, words) for part in group.split(PART))


def _part(part: str, words: Language) -> str:
    """Its word as a whole, else that of its first word and of what follows it."""
    whole = f"of.{part.replace(' ', '_')}"
    if words.knows(whole):
        return words.say(whole)
    first, _, rest = part.partition(" ")
    return f"{_part(first, words)} {_part(rest, words)}" if rest else part
