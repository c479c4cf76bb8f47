"""What is counted and what is measured when found drives are held against true ones."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field

from shiftlog.model.reading import Reading
from shiftlog.model.rest import Rest
from shiftlog.model.shift import Shift
from shiftlog.synth.truth import Truth
from tests.truth.matching import match_rests, match_shifts

TIMES = ("shift_time_s", "neutral_time_s", "baulk_time_s", "drive_gap_s")
RELATIVE = ("knock_peak_mps2", "knock_energy_m2s3", "approach_speed_mmps")


@dataclass(eq=False, kw_only=True)
class Tally:
    """Counts by name (``shifts true`` …), errors by figure, and a line for every miss, to look at."""

    counts: Counter[str] = field(default_factory=Counter)
    errors: dict[str, list[float]] = field(default_factory=dict)
    misses: list[str] = field(default_factory=list)

    def add(self, other: "Tally") -> None:
        """Take another tally in."""
        self.counts += other.counts
        self.misses += other.misses
        for key, errors in other.errors.items():
            self.errors.setdefault(key, []).extend(errors)

    def share(self, part: str, whole: str) -> float | None:
        """A count as a share of another, or None where there is nothing to count."""
        return self.counts[part] / self.counts[whole] if self.counts[whole] else None

    def error(self, key: str, value: float) -> None:
        """Note one error."""
        self.errors.setdefault(key, []).append(value)

    def right(self, what: str, is_right: bool, miss: str) -> None:
        """Count one judgement, and keep a line where it is wrong."""
        self.counts[f"{what} judged"] += 1
        self.counts[f"{what} right"] += int(is_right)
        if not is_right:
            self.misses.append(f"{what}: {miss}")


def score(truth: Truth, shifts: Sequence[Shift], rests: Sequence[Rest], *, name: str) -> Tally:
    """Hold one drive's findings against its truth."""
    tally = Tally()
    _score_shifts(tally, truth.shifts, shifts, name)
    _score_rests(tally, truth, rests, name)
    return tally


def _score_shifts(tally: Tally, true: Sequence[Shift], found: Sequence[Shift], name: str) -> None:
    pairs = match_shifts(true, found)
    tally.counts.update({"shifts true": len(true), "shifts found": len(found), "shifts matched": len(pairs)})
    for index in sorted(set(range(len(true))) - {t for t, _ in pairs}):
        tally.misses.append(f"missing: {name} {_told(true[index])}")
    for index in sorted(set(range(len(found))) - {f for _, f in pairs}):
        tally.misses.append(f"invented: {name} {_told(found[index])}")
    for t, f in pairs:
        _score_pair(tally, true[t], found[f], name)


def _score_pair(tally: Tally, true: Shift, found: Shift, name: str) -> None:
    told = f"{name} true {_told(true)} found {_told(found)}"
    same = (true.from_gear, true.to_gear, true.via) == (found.from_gear, found.to_gear, found.via)
    tally.right("from and to", same, told)
    tally.right("outcome", true.outcome == found.outcome, told)
    if not same:
        return
    if true.attempts is not None and found.attempts is not None:
        tally.right("attempts", true.attempts == found.attempts, told)
    if true.paused is not None and found.paused is not None and true.outcome in ("clean", "second_push"):
        tally.right("paused", true.paused == found.paused, told)
    for key in TIMES:
        _score_figure(tally, key, true.readings.get(key), found.readings.get(key), relative=False, told=told)
    for key in RELATIVE:
        _score_figure(tally, key, true.readings.get(key), found.readings.get(key), relative=True, told=told)
    if true.value("over_rev") is not None and found.value("over_rev") is not None:
        tally.right("over-rev", true.value("over_rev") == found.value("over_rev"), told)


def _score_figure(
    tally: Tally, key: str, true: Reading | None, found: Reading | None, *, relative: bool, told: str
) -> None:
    if true is None or true.value is None:
        return
    got = found is not None and found.value is not None
    tally.right(f"{key} given", got, f"{told} {found.why if found else 'no reading'}")
    if got and not (key == "baulk_time_s" and true.value == 0.0 == found.value):
        error = abs(found.value - true.value)
        tally.error(key, error / true.value if relative else error)


def _score_rests(tally: Tally, truth: Truth, found: Sequence[Rest], name: str) -> None:
    pairs = match_rests(truth.rests, found)
    true = truth.rests
    tally.counts.update({"rests true": len(true), "rests found": len(found), "rests matched": len(pairs)})
    for index in sorted(set(range(len(true))) - {t for t, _ in pairs}):
        tally.misses.append(f"rest missing: {name} {_lay(true[index])} {truth.how_rested[index]}")
    for index in sorted(set(range(len(found))) - {f for _, f in pairs}):
        tally.misses.append(f"rest invented: {name} {_lay(found[index])}")
    for t, f in pairs:
        _score_rest(
            tally, true[t], found[f], f"{name} true {_lay(true[t])} {truth.how_rested[t]} found {_lay(found[f])}"
        )


def _score_rest(tally: Tally, true: Rest, found: Rest, told: str) -> None:
    offset = true.value("offset_mm")
    if offset is not None and found.value("offset_mm") is not None:
        tally.error("offset_mm", abs(found.value("offset_mm") - offset))
    tally.right("plane", true.plane == found.plane, told)
    if true.released is not None:
        tally.right("released", true.released == found.released, told)
        tally.counts["released unsaid"] += int(found.released is None)
    else:
        tally.right("unknowable release left open", found.released is not True, told)
    back = true.value("return_time_s")
    if back is not None and found.value("return_time_s") is not None:
        tally.error("return_time_s", abs(found.value("return_time_s") - back))
        tally.right("came from", true.came_from == found.came_from, told)


def _told(shift: Shift) -> str:
    via = "".join(f" via {g}" for g in shift.via)
    end = f"{shift.end_s:.3f}" if shift.end_s is not None else "-"
    return (
        f"{shift.from_gear}-{shift.to_gear}{via} {shift.start_s:.3f}..{end} {shift.outcome} attempts {shift.attempts}"
    )


def _lay(rest: Rest) -> str:
    return f"{rest.start_s:.2f}..{rest.end_s:.2f} {rest.select_mm:.2f} {rest.plane} released {rest.released}"
