"""The answer under each page's question, as sentences with figures."""

from collections import Counter
from itertools import product
from statistics import median

from dashboard import words
from dashboard.figures.traces import odd
from shiftlog.measure.capability import SURE
from shiftlog.measure.nouns import IN_100, find_direction, many, say_covered, say_kind
from shiftlog.model.car import NEUTRAL
from shiftlog.model.comparison import Comparison, Row
from shiftlog.model.result import DriveResult
from shiftlog.model.share import Share
from shiftlog.model.shift import Shift

CHANGED, CHANCE = "changed", "chance"
VERDICTS = {
    "better": "better",
    "worse": "worse",
    CHANGED: "changed, and neither way is better by itself",
    "same": "no change that matters",
    CHANCE: "may be chance, as many figures were looked at",
    "unclear": "cannot be told from these drives",
    "too_few": "too few to tell",
}
FIRM = ("better", "worse", CHANGED, "same")
"""What claims something, and so must say where it is provisional."""


def state(row: Row) -> str:
    """The verdict, or that the figure changed where no direction is better, or by its own interval alone."""
    if row.changed:
        return CHANGED
    return CHANCE if row.maybe_chance else row.verdict


def verdict_words(row: Row) -> str:
    """The verdict as a cell of a table has it."""
    return VERDICTS[state(row)] + (", provisional" if row.provisional and state(row) in FIRM else "")


def answer_drive(result: DriveResult) -> list[str]:
    """How the car shifted: shifts, what was odd among them, and where the lever rested."""
    by_lever = [s for s in result.shifts if s.seen_by == "lever"]
    in_drive = [s for s in result.shifts if s.seen_by != "lever"]
    said = []
    if by_lever:
        said += [_shifts_sentence(by_lever), _odd_sentence(by_lever), *_ground(by_lever)]
    if in_drive:
        said.append(_gaps_sentence(in_drive))
    if not result.shifts:
        said.append("No shift was found in this drive.")
    if result.summary.wrong_plane is not None and result.gate is not None:
        said.append(rest_sentence(result.summary.wrong_plane, result.gate.layout.home))
    return said


def _shifts_sentence(shifts: list[Shift]) -> str:
    text = f"{words.count(len(shifts), 'journey', 'journeys')} of the lever"
    timed = [s for s in shifts if s.value("shift_time_s") is not None and s.from_gear != NEUTRAL]
    kinds = Counter(words.change(s) for s in timed)
    if not kinds:
        return text + ", none from gear to gear with a shift time."
    kind, _ = max(kinds.items(), key=lambda pair: pair[1])
    known = [s.value("shift_time_s") for s in timed if words.change(s) == kind]
    middle = words.value("shift_time_s", median(known))
    return f"{text}; the most frequent, {kind}, took {middle} in the median of {len(known)}."


def _ground(shifts: list[Shift]) -> list[str]:
    """Which shifts ground, where any did."""
    ground = [s for s in shifts if s.value("grind")]
    open_ones = sum(s.value("grind") is None and s.outcome != "to_neutral" for s in shifts)
    if not ground:
        return []
    into = Counter(s.to_gear for s in ground)
    told = ", ".join(f"{n} into {gear}" for gear, n in into.most_common())
    left = f" {words.count(open_ones, 'shift')} could not be judged." if open_ones else ""
    return [f"Teeth clashed in {words.count(len(ground), 'shift')}: {told}.{left}"]


def _odd_sentence(shifts: list[Shift]) -> str:
    found = Counter(s.outcome for s in shifts if odd(s))
    if not found:
        return "None of them was refused, pushed twice or put into a wrong gear."
    parts = [words.count(n, *words.OUTCOMES_COUNTED[outcome]) for outcome, n in found.most_common()]
    return f"Not clean: {words.sentence_list(parts)}."


def _gaps_sentence(shifts: list[Shift]) -> str:
    gaps = [s.value("drive_gap_s") for s in shifts if s.value("drive_gap_s") is not None]
    text = f"{words.count(len(shifts), 'change')} of gear seen in the drive itself, with no lever sensor"
    if all(s.seen_by == "acceleration" for s in shifts):
        sure = sum(s.confidence is not None and s.confidence >= SURE for s in shifts)
        count = words.count(len(shifts), "shift")
        text = f"{count} from acceleration, {sure or 'none'} of them at {100 * SURE:.0f} % or surer"
    unknown = sum(s.from_gear is None and s.to_gear is None for s in shifts)
    if unknown:
        whose = "their gears are" if unknown == len(shifts) else f"the gears of {unknown} are"
        text += f" ({whose} not known)"
    if not gaps:
        return f"{text}; how long the drive was interrupted cannot be told from this log."
    middle = words.value("drive_gap_s", median(gaps))
    return f"{text}; the drive was interrupted for {middle} in the median of {len(gaps)}."


def rest_sentence(share: Share, home: str | None) -> str:
    """Where the lever came to rest, with the interval, and the range if every unknown rest counted."""
    if share.n == 0:
        return "The lever was never seen let go in neutral."
    low, high = words.percent(share.low), words.percent(share.high)
    text = f"Let go in neutral, the lever rested out of its home plane {home or ''} in {share.k} of {share.n} rests"
    text = f"{text} (95{words.THIN}%: {low} to {high})"
    if share.if_unknown_counted is not None and share.if_unknown_counted[0] != share.if_unknown_counted[1]:
        a, b = (words.percent(v) for v in share.if_unknown_counted)
        text += f"; between {a} and {b} if every rest counted of which it is not known whether the lever was let go"
    return text + "."


def answer_shift(shift: Shift, speed_unit: str) -> list[str]:
    """What happened in a shift, in a few sentences."""
    at = shift.value("vehicle_speed_mps")
    where = f" at {words.speed(at, speed_unit)}" if at is not None else ""
    if shift.seen_by != "lever":
        return _gap_sentences(shift, where)
    took, stood = shift.value("shift_time_s"), shift.value("baulk_time_s")
    time = f" in {words.value('shift_time_s', took)}" if took is not None else ""
    said = [f"{words.change(shift)}{where}{time}: {words.outcome(shift)}."]
    if shift.outcome in words.OUTCOMES_MEAN:
        said.append(f"That means: {words.OUTCOMES_MEAN[shift.outcome]}.")
    if shift.value("grind"):
        said.append(_grind_sentence(shift))
    if stood:
        said.append(f"On its way in the lever stood for {words.value('baulk_time_s', stood)}.")
    if shift.value("over_rev"):
        said.append(f"In gear {shift.to_gear} that speed means an engine speed above the redline.")
    if shift.standing:
        said.append("The car stood still, where a refusal is normal: tooth meets tooth.")
    return [" ".join(said)]


def _grind_sentence(shift: Shift) -> str:
    level, lasted = (words.value(key, shift.value(key)) for key in ("grind_level_db", "grind_duration_s"))
    return (
        f"Teeth clashed before it went in: for {lasted}, {level} over the background. At the most 1 in 100 quiet "
        "shifts would pass for that."
    )


def _gap_sentences(shift: Shift, where: str) -> list[str]:
    gap = shift.value("drive_gap_s")
    how = "for a time this log cannot show" if gap is None else f"for {words.value('drive_gap_s', gap)}"
    known = any((shift.from_gear, *shift.via, shift.to_gear))
    name = words.change(shift) if known else "A change of gear that cannot be named"
    text = f"{name}{where}, seen in the drive itself: the drive was interrupted {how}."
    doubt = f" That it is a shift is {words.sure(shift)} sure." if shift.confidence is not None else ""
    return [f"{text} That is no lever time.{doubt}"]


def verdict_sentence(row: Row, speed_unit: str) -> str:
    """A row's verdict, never more certain than it is."""
    if row.verdict == "too_few":
        return f"Too few {many(row.counted)} to tell."
    said = VERDICTS[state(row)]
    how = ", provisionally" if row.provisional and state(row) in FIRM else ""
    return f"{said[0].upper()}{said[1:]}{how}. {difference(row, speed_unit)}".rstrip()


def difference(row: Row, speed_unit: str) -> str:
    """``Shorter by 0.08 s (95 %: 0.05 to 0.10)``, or an empty text."""
    if row.difference is None:
        return ""
    scale, unit = _scale(row, speed_unit)
    step = _step(row, abs(row.difference) * scale)
    way = find_direction(row.measure, row.unit, row.difference).capitalize()
    text = f"{way} by {words.number(abs(row.difference) * scale, step=step)}{words.THIN}{unit}".rstrip()
    if row.ci_low is None or row.ci_high is None:
        return text + "."
    ends = (row.ci_low, row.ci_high) if row.difference >= 0 else (-row.ci_high, -row.ci_low)
    low, high = (words.number(end * scale, step=step) for end in ends)
    alone = say_covered(row.interval_covers, row.counted)
    return f"{text} (95{words.THIN}%: {low} to {high}{f'; {alone}' if alone else ''})."


def chance(p: float | None) -> str:
    """A probability as it is printed: never zero."""
    if p is None:
        return words.NOTHING
    return "under 0.001" if p < 0.001 else words.number(p, step=0.001 if p < 0.1 else 0.01)


def evidence_sentences(row: Row, speed_unit: str) -> list[str]:
    """The smallest change beside the change, what repeat drives tell, what would settle it, and what the hand did."""
    if row.verdict == "too_few":
        return []
    said = []
    if row.smallest_change is not None:
        smallest = size_value(row, row.smallest_change, speed_unit)
        said.append(f"The smallest change these drives can show is {smallest}.")
    return said + [f"{note[0].upper()}{note[1:]}." for note in row.notes]


def _scale(row: Row, speed_unit: str) -> tuple[float, str]:
    """What a row's figures are multiplied by to be shown, and the unit they then have."""
    if row.unit == "m/s":
        return words.speed_value(1.0, speed_unit), speed_unit
    if row.measure.endswith("_share"):
        return 100.0, IN_100
    return 1.0, row.unit


def _step(row: Row, size: float) -> float:
    """Hundredths of a second, or thousandths where hundredths would hide the difference."""
    if row.unit == "s":
        return 0.01 if size >= 0.02 else 0.001
    return 1.0 if size >= 20 else 0.1 if size >= 2 else 0.01


def side_value(row: Row, given: float | None, speed_unit: str) -> str:
    """One side of a row: shares as per cent."""
    if given is not None and row.measure.endswith("_share"):
        return words.percent(given)
    return words.value(row.measure, given, speed_unit)


def size_value(row: Row, given: float, speed_unit: str) -> str:
    """A difference of a row: shares differ by so many in 100."""
    if row.measure.endswith("_share"):
        return f"{100 * given:.0f}{words.THIN}{IN_100}"
    return words.value(row.measure, given, speed_unit)


def answer_comparison(comparison: Comparison, speed_unit: str) -> list[str]:
    """What the rows over all kinds of shift say, one line for each verdict."""
    rows = [row for row in comparison.rows if row.group == "all"] or list(comparison.rows)
    parts = []
    for (verdict, said), provisional in product(VERDICTS.items(), (False, True)):
        mine = [r for r in rows if state(r) == verdict and (r.provisional and verdict in FIRM) == provisional]
        if mine:
            how = ", provisionally" if provisional else ""
            named = words.sentence_list([_named(row, speed_unit) for row in mine])
            parts.append(f"{said[0].upper()}{said[1:]}{how}: {named}.")
    return parts or ["Nothing could be compared."]


def _named(row: Row, speed_unit: str) -> str:
    """The measure, in what kind of test it was seen, and of what got better or worse by how much."""
    told = [say_kind(row)] if row.where else []
    if state(row) in ("better", "worse", CHANGED):
        way = find_direction(row.measure, row.unit, row.difference)
        told.append(f"{way} by {size_value(row, abs(row.difference), speed_unit)}")
    label = words.label(row.measure).lower()
    return f"{label} ({', '.join(told)})" if told else label


def why_provisional(rows: tuple[Row, ...]) -> list[str]:
    """The reasons for which verdicts are provisional, each once, with what it is said of where others stand."""
    found: dict[str, list[str]] = {}
    for row in rows:
        if row.provisional:
            found.setdefault(row.why.partition("provisional: ")[2].partition(";")[0], []).append(
                words.label(row.measure)
            )
    found.pop("", None)
    if all(row.provisional for row in rows):
        return list(found) or ["Each row says why."]
    return [f"{why} ({', '.join(dict.fromkeys(of))})" for why, of in found.items()] or ["Each row says why."]
