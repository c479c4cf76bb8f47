"""A row of the comparison in words: its name, its verdict, its change, and what that rests on."""

from shiftlog.measure.catalogue import MEASURES
from shiftlog.measure.nouns import find_direction
from shiftlog.measure.share import share_of
from shiftlog.model.comparison import SHIFTS, TESTS, Row
from shiftlog.model.share import Share
from shiftlog.report.content import ALL, FIRM
from shiftlog.report.kind_words import TOGETHER, kind_name, where_name
from shiftlog.report.language import Language

MOST_NAMED = 3


def row_name(row: Row, words: Language) -> str:
    """The figure, and the kind of shift where it is one."""
    name = measure_name(row.measure, words)
    if row.group not in TOGETHER:
        return f"{name} {kind_name(row, words)}"
    name = words.say("answer.least", what=name) if is_least(row) else name
    return words.say("count.where", what=name, where=where_name(row, words)) if row.where else name


def measure_name(measure: str, words: Language) -> str:
    """A figure as the client reads it; the catalogue's name where the language has none."""
    if words.knows(f"measure.{measure}"):
        return words.say(f"measure.{measure}")
    return MEASURES[measure].label if measure in MEASURES else measure.replace("_", " ")


def verdict_word(row: Row, words: Language) -> str:
    """The verdict, provisional where it is."""
    if row.maybe_chance:
        return words.say("verdict.chance")
    said = words.say(f"verdict.{'changed' if row.changed else row.verdict}", things=things(row, words))
    claims = row.verdict in FIRM or row.changed
    return words.say("verdict.provisional", verdict=said) if row.provisional and claims else said


def change(row: Row, words: Language, *, with_interval: bool = True) -> str:
    """``shorter by 0.08 s (95 %: 0.05 to 0.10)``; the range alone where nothing is claimed."""
    if row.difference is None or row.verdict == "too_few":
        return ""
    if row.verdict not in ("better", "worse") and not row.changed:
        return _range(row, words)
    size = amount(row, abs(row.difference), words)
    if with_interval and row.ci_low is not None and row.ci_high is not None:
        near, far = sorted((row.ci_low, row.ci_high), key=abs)
        low, high = (amount(row, abs(end), words, bare=True) for end in (near, far))
        size = words.say("number.interval", value=size, low=low, high=high)
    return words.say(f"change.{find_direction(row.measure, row.unit, row.difference)}", size=size)


def _range(row: Row, words: Language) -> str:
    if row.ci_low is None or row.ci_high is None:
        return ""
    low, high = amount(row, row.ci_low, words, bare=True), amount(row, row.ci_high, words)
    return words.say("change.within", low=low, high=high)


def is_least(row: Row) -> bool:
    """Whether a figure over all gears is that of the gear with the least."""
    return row.group in TOGETHER and row.measure in MEASURES and MEASURES[row.measure].least


def is_share(row: Row) -> bool:
    """Whether a row's figures are shares of all tries."""
    return row.measure.endswith("_share")


def amount(row: Row, value: float, words: Language, *, bare: bool = False) -> str:
    """A difference in the unit people read it in."""
    if is_share(row):
        number = words.number(100 * value, digits=9, places=1 if abs(value) < 0.02 else 0)
        return number if bare else words.say("number.of_100", value=number)
    return words.number(value, places=3 if row.unit == "s" else 4) if bare else words.figure(value, row.unit)


def level(row: Row, value: float | None, words: Language) -> str:
    """A figure of one side, or a dash."""
    if value is None:
        return "–"
    return words.per_cent(value) if is_share(row) else words.figure(value, row.unit)


def things(row: Row, words: Language) -> str:
    """What a row counts, several of them."""
    return words.say(f"things.{row.counted}")


def of_days(row: Row, words: Language) -> str:
    """That an interval knows nothing of how days differ, as one drive a side cannot tell; else nothing."""
    alone = row.interval_covers in (SHIFTS, TESTS) and row.ci_low is not None
    spread = words.say("things.repeat") if row.interval_covers == TESTS else things(row, words)
    return words.say("change.no_days", things=spread) if alone else ""


def what_settles(row: Row, words: Language) -> str:
    """How much more would settle an unclear row, where that can be known; else an empty text."""
    if row.verdict != "unclear" or row.taken_back:
        return ""
    of_test = row.where == "standstill test" or (row.measure in MEASURES and MEASURES[row.measure].test)
    kind = "tests" if of_test else "drives"
    said = []
    if row.more_drives:
        said.append(words.say(f"settles.{kind}" if row.more_drives > 1 else f"settles.{kind}_1", n=row.more_drives))
    if row.times_shifts:
        said.append(words.say("settles.values", n=row.times_shifts, things=things(row, words)))
    return words.say("settles.would", list=words.texts["settles.or"].join(said)) if said else ""


def share_of_row(row: Row, side: str) -> Share | None:
    """k of n of a side of a share, all drives together; None without a value."""
    k, n = (row.k_before, row.n_before) if side == "before" else (row.k_after, row.n_after)
    return share_of(k, n) if n else None


def list_rows(rows: list[Row], words: Language) -> str:
    """All that got better or worse, with its change; of what shows nothing the first few, the table has the others."""
    if rows[0].verdict in ("better", "worse") or rows[0].changed:
        return words.listed([_with_change(r, words) for r in rows])
    whole = [r for r in rows if r.group == ALL or not any(a.group == ALL and a.measure == r.measure for a in rows)]
    names = [row_name(r, words) for r in whole[:MOST_NAMED]]
    more = len(whole) - len(names)
    return words.listed(
        [*names, words.say("answer.others", n=more)] if more > 1 else [row_name(r, words) for r in whole]
    )


def _with_change(row: Row, words: Language) -> str:
    return f"{row_name(row, words)} ({change(row, words, with_interval=False)})"
