"""The answer under each page's question, as sentences with figures."""

from collections import Counter
from statistics import median

from dashboard import words
from dashboard.figures.traces import odd
from shiftlog.model.comparison import Comparison, Row
from shiftlog.model.result import DriveResult, Share
from shiftlog.model.shift import Shift

VERDICTS = {
    "better": "better",
    "worse": "worse",
    "same": "no change that matters",
    "unclear": "cannot be told from these drives",
    "too_few": "too few to tell",
}


def answer_drive(result: DriveResult) -> list[str]:
    """How the car shifted: shifts, what was odd among them, and where the lever rested."""
    by_lever = [s for s in result.shifts if s.seen_by == "lever"]
    in_drive = [s for s in result.shifts if s.seen_by == "drivetrain"]
    said = []
    if by_lever:
        said += [_shifts_sentence(by_lever), _odd_sentence(by_lever)]
    if in_drive:
        said.append(_gaps_sentence(in_drive))
    if not result.shifts:
        said.append("No shift was found in this drive.")
    if result.summary.wrong_plane is not None and result.gate is not None:
        said.append(rest_sentence(result.summary.wrong_plane, result.gate.layout.home))
    return said


def _shifts_sentence(shifts: list[Shift]) -> str:
    text = f"{words.count(len(shifts), 'journey', 'journeys')} of the lever"
    kinds = Counter(words.change(s) for s in shifts if s.value("shift_time_s") is not None)
    if not kinds:
        return text + ", none with a shift time."
    kind, _ = max(kinds.items(), key=lambda pair: pair[1])
    times = [s.value("shift_time_s") for s in shifts if words.change(s) == kind]
    known = [t for t in times if t is not None]
    middle = words.value("shift_time_s", median(known))
    return f"{text}; the most frequent, {kind}, took {middle} in the median of {len(known)}."


def _odd_sentence(shifts: list[Shift]) -> str:
    found = Counter(words.OUTCOMES[s.outcome] for s in shifts if odd(s))
    if not found:
        return "Each went in at the first push."
    parts = [f"{n} {name}" for name, n in found.most_common()]
    return f"Not clean: {words.sentence_list(parts)}."


def _gaps_sentence(shifts: list[Shift]) -> str:
    gaps = [s.value("drive_gap_s") for s in shifts if s.value("drive_gap_s") is not None]
    text = f"{words.count(len(shifts), 'change')} of gear seen in the drive itself, with no lever sensor"
    if not gaps:
        return f"{text}; how long the drive was interrupted cannot be told from this log."
    return f"{text}; the drive was interrupted for {words.value('drive_gap_s', median(gaps))} in the median of {len(gaps)}."


def rest_sentence(share: Share, home: str | None) -> str:
    """Where the lever came to rest, with the interval, and the range if every unknown rest counted."""
    if share.n == 0:
        return "The lever was never seen let go in neutral."
    low, high = words.percent(share.low), words.percent(share.high)
    text = f"Let go in neutral, the lever rested out of its home plane {home or ''} in {share.k} of {share.n} rests"
    text = f"{text} (95 %: {low} to {high})"
    if share.if_unknown_counted is not None and share.if_unknown_counted[0] != share.if_unknown_counted[1]:
        a, b = (words.percent(v) for v in share.if_unknown_counted)
        text += f"; between {a} and {b} if every rest counted of which it is not known whether the lever was let go"
    return text + "."


def answer_shift(shift: Shift, speed_unit: str) -> str:
    """What happened in a shift, in one or two sentences."""
    at = shift.value("vehicle_speed_mps")
    where = f" at {words.speed(at, speed_unit)}" if at is not None else ""
    if shift.seen_by == "drivetrain":
        gap = shift.value("drive_gap_s")
        how = "for a time this log cannot show" if gap is None else f"for {words.value('drive_gap_s', gap)}"
        return f"{words.change(shift)}{where}, seen in the drive itself: the drive was interrupted {how}. That is no lever time."
    took = shift.value("shift_time_s")
    text = f"{words.change(shift)}{where}"
    text += f" in {words.value('shift_time_s', took)}: {words.outcome(shift)}." if took is not None else f": {words.outcome(shift)}."
    if shift.outcome in words.OUTCOMES_MEAN:
        text += f" That means: {words.OUTCOMES_MEAN[shift.outcome]}."
    stood = shift.value("baulk_time_s")
    if stood:
        text += f" On its way in the lever stood for {words.value('baulk_time_s', stood)}."
    if shift.standing:
        text += " The car stood still, where a refusal is normal: tooth meets tooth."
    return text


def verdict_sentence(row: Row, speed_unit: str) -> str:
    """A row's verdict, never more certain than it is."""
    head = "provisional: " if row.provisional and row.verdict in ("better", "worse", "same") else ""
    return f"{head}{VERDICTS[row.verdict]}".capitalize() + f". {difference(row, speed_unit)}".rstrip()


def difference(row: Row, speed_unit: str) -> str:
    """``Shorter by 0.08 s (95 %: 0.05 to 0.10)``, or an empty text."""
    if row.difference is None:
        return ""
    size = _amount(row, abs(row.difference), speed_unit)
    text = f"{_direction(row)} by {size}"
    if row.ci_low is None or row.ci_high is None:
        return text + "."
    low, high = row.ci_low, row.ci_high
    if row.difference < 0:
        low, high = -high, -low
    return f"{text} (95 %: {_amount(row, low, speed_unit)} to {_amount(row, high, speed_unit)})."


def _direction(row: Row) -> str:
    less, more = ("Shorter", "Longer") if row.unit == "s" else ("Lower", "Higher")
    return less if row.difference < 0 else more


def _amount(row: Row, amount: float, speed_unit: str) -> str:
    if row.unit == "m/s":
        return words.speed(amount, speed_unit)
    if row.measure.endswith("_share"):
        return f"{amount * 100:.0f} points of 100".replace("-", "−")
    # A difference may be finer than the figures it is the difference of.
    return f"{words.number(amount, step=0.001 if row.unit == 's' else None)} {row.unit}".strip()


def side_value(row: Row, given: float | None, speed_unit: str) -> str:
    """One side of a row: shares as per cent."""
    if given is not None and row.measure.endswith("_share"):
        return words.percent(given)
    return words.value(row.measure, given, speed_unit)


def answer_comparison(comparison: Comparison) -> str:
    """What the rows over all kinds of shift say, verdict by verdict."""
    rows = [row for row in comparison.rows if row.group == "all"] or list(comparison.rows)
    parts = []
    for verdict in VERDICTS:
        names = [words.label(r.measure).lower() for r in rows if r.verdict == verdict]
        if names:
            parts.append(f"{VERDICTS[verdict]}: {words.sentence_list(names)}")
    return ("; ".join(parts) or "nothing could be compared").capitalize() + "."
