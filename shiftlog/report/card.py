"""What has to be driven so that the later comparison is strong, and what of it is still missing."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from shiftlog.compare.cold_stretch import find_cold_stretch
from shiftlog.compare.sample import COUNTED_OUTCOMES
from shiftlog.errors import StoreError
from shiftlog.model.car import NEUTRAL, REVERSE, Car
from shiftlog.model.job import Job
from shiftlog.model.result import DriveResult
from shiftlog.model.shift import Shift
from shiftlog.report.cold_words import say_hint, suggest_temperature
from shiftlog.report.counts import is_of

DRIVES, NAMED, OTHERS = 3, 10, 6
"""Drives a side, and shifts in each: of a kind the complaint names, and of the others (common practice, no source)."""
COLD, HOT = "cold", "hot"
BEFORE = "before"
UP, DOWN = (0.4, 0.6), (0.35, 0.5)
"""Engine speed at the start of a shift as a share of the redline: brisk, and far from harm (common practice)."""
LANDS_BELOW = 0.8
"""A downshift must land below this share of the redline, whatever was driven before (common practice)."""
LEAST_DRIVEN = 3
RELEASES, PUSHES, LOCKOUTS, PRESSES = 10, 10, 5, 1
_TESTS_OF = {
    "rests wrong": ("straight_push", "lockout"), "refuses": ("clearance", "spin_down"), "grinds": ("spin_down",),
    "stiff": ("clearance", "free_play"), "jumps out": ("jump_out", "clearance"), "knocks": ("free_play",),
    "noise": ("bearing_noise",),
}  # fmt: skip
_TIMES = {"straight_push": PUSHES, "lockout": LOCKOUTS}


@dataclass(frozen=True, eq=False, kw_only=True)
class ShiftLine:
    """One kind of shift in one part of the drive.

    part : ``cold`` | ``hot``; wanted : in each drive; had : in each drive so far
    rpm : engine speed at the start, (low, high), or None; as_before : it is what was driven before
    speed_mps : the road speed that goes with it, (low, high), or None
    """

    kind: str
    part: str
    wanted: int
    had: tuple[int, ...]
    rpm: tuple[int, int] | None
    as_before: bool
    speed_mps: tuple[float, float] | None

    @property
    def missing(self) -> int:
        """How many shifts are missing over all drives of a side."""
        best = sorted(self.had, reverse=True)[:DRIVES]
        return sum(max(self.wanted - n, 0) for n in best) + self.wanted * (DRIVES - len(best))


@dataclass(frozen=True, eq=False, kw_only=True)
class TestLine:
    """A test at standstill, once a side. test : its word in the language's file"""

    test: str
    wanted: int
    had: int

    @property
    def missing(self) -> int:
        """How many tries are missing."""
        return max(self.wanted - self.had, 0)


@dataclass(frozen=True, eq=False, kw_only=True)
class CardPlan:
    """A road-test card. side : ``before`` | ``after`` | ``recheck``; drives : names of those driven so far"""

    car: str
    side: str
    job: Job
    drives: tuple[str, ...]
    shifts: tuple[ShiftLine, ...]
    tests: tuple[TestLine, ...]
    redline_rpm: float | None

    @property
    def cold_hint(self) -> str:
        """That the client's words may mean the cold or hot gearbox and nobody has settled it, else an empty text."""
        hint = None if self.job.temperature else suggest_temperature(self.job.complaint)
        return f"{say_hint(hint)} What the card asks for goes by it." if hint else ""

    @property
    def complete(self) -> bool:
        """Whether nothing is missing any more."""
        return not any(line.missing for line in (*self.shifts, *self.tests))

    def part(self, name: str) -> tuple[ShiftLine, ...]:
        """The shifts of one part."""
        return tuple(line for line in self.shifts if line.part == name)


def plan_card(
    job: Job, car: Car, driven: Sequence[DriveResult], *, side: str, earlier: Sequence[DriveResult] = ()
) -> CardPlan:
    """The card of one side. driven : this side's drives; earlier : those before the work, to be matched after it.

    StoreError where the complaint names a gear that the car has not.
    """
    _check_gears(job.shifts, car)
    named = _named(job.shifts, car, [*earlier, *driven])
    kinds = list(dict.fromkeys([*named, *_neighbours(car, [*earlier, *driven])]))
    alike = list(driven) if side == BEFORE else list(earlier)
    lines = [
        _line(kind, part, NAMED if kind in named else OTHERS, car, driven, alike, side)
        for part, wanted in _parts(job.temperature, kinds, named).items()
        for kind in wanted
    ]
    return CardPlan(
        car=car.name, side=side, job=job, drives=tuple(r.head.id for r in driven), shifts=tuple(lines),
        tests=_tests(job, car, driven), redline_rpm=car.redline_rpm,
    )  # fmt: skip


def _check_gears(shifts: Sequence[str], car: Car) -> None:
    gears = car.gate.gears if car.gate else ()
    for named in shifts if gears else ():
        if lost := [gear for gear in named.split("-") if gear not in (*gears, REVERSE, NEUTRAL)]:
            raise StoreError(f"shifts: {named}: {car.name} has no gear {lost[0]}; its gears are {', '.join(gears)}")


def side_of(job: Job) -> str:
    """The side whose card is next: after the work as soon as some of it is written down, then the recheck's."""
    if job.drives_recheck:
        return "recheck"
    done = (job.drives_after, job.replaced, job.fluid, job.done, job.engage_turns, job.select_turns)
    return "after" if any(done) else "before"


def _named(shifts: Sequence[str], car: Car, results: Sequence[DriveResult]) -> list[str]:
    """Kinds the complaint names; a gear stands for every shift into it. Reverse is tried at standstill."""
    neighbours, found = _neighbours(car, results), []
    for named in shifts:
        if "-" in named:
            found.append(named)
        else:
            found += [kind for kind in neighbours if kind.split("-")[1] == named]
    return [kind for kind in dict.fromkeys(found) if not {REVERSE, NEUTRAL} & set(kind.split("-"))]


def _neighbours(car: Car, results: Sequence[DriveResult]) -> list[str]:
    """Up and down between neighbouring gears, but for down into first, which nobody needs on the road."""
    gears = set(car.gate.gears if car.gate else car.ratios or car.learnt_rpm_per_mps)
    if not gears:
        gears = {g for r in results for s in r.shifts for g in (s.from_gear, s.to_gear) if g}
    order = sorted((g for g in gears if g.isdigit()), key=int)
    pairs = list(zip(order, order[1:], strict=False))
    return [f"{a}-{b}" for a, b in pairs] + [f"{b}-{a}" for a, b in reversed(pairs) if a != "1"]


def _parts(temperature: str, kinds: list[str], named: list[str]) -> Mapping[str, list[str]]:
    """Which kinds are driven cold and which hot: all where the complaint is, the named ones on the other side."""
    if temperature == COLD:
        return {COLD: kinds, HOT: named}
    return {HOT: kinds} if temperature == HOT or not named else {COLD: named, HOT: kinds}


def _line(kind, part, wanted, car, driven, alike, side) -> ShiftLine:
    rpm, as_before = _band(kind, car, alike)
    ratio = car.rpm_per_mps(kind.split("-")[0])
    had = tuple(sum(_counts(s, kind, part, r) for s in r.shifts) for r in driven)
    return ShiftLine(
        kind=kind, part=part, wanted=wanted, had=had, rpm=rpm,
        as_before=as_before and side != BEFORE, speed_mps=_speeds(rpm, ratio),
    )  # fmt: skip


def _speeds(rpm: tuple[int, int] | None, rpm_per_mps: float | None) -> tuple[float, float] | None:
    return (rpm[0] / rpm_per_mps, rpm[1] / rpm_per_mps) if rpm and rpm_per_mps else None


def _counts(shift: Shift, kind: str, part: str, result: DriveResult) -> bool:
    """Whether a shift will count in a comparison of that kind, and belongs to that part."""
    if shift.standing or shift.paused or shift.via or not is_of(shift, kind):
        return False
    return shift.outcome in (*COUNTED_OUTCOMES, "missed") and _part_of(shift, result) == part


def _part_of(shift: Shift, result: DriveResult) -> str:
    stretch = find_cold_stretch(result)
    return COLD if stretch is not None and shift.start_s < stretch.end_s else HOT


def _band(kind: str, car: Car, alike: Sequence[DriveResult]) -> tuple[tuple[int, int] | None, bool]:
    """Engine speed at the start: the middle half of what was driven, else a share of the redline."""
    most = _most_rpm(kind, car)
    driven = [v for r in alike for s in r.shifts if is_of(s, kind) and (v := s.value("engine_speed_rpm")) is not None]
    if len(driven) >= LEAST_DRIVEN:
        low, high = (float(v) for v in np.quantile(driven, (0.25, 0.75)))
        return _rounded(low, high, most), True
    first, second = kind.split("-")
    down = second < first
    if car.redline_rpm is None or (down and most is None):
        return None, False
    low, high = (share * car.redline_rpm for share in (DOWN if down else UP))
    return _rounded(low, high, most), False


def _most_rpm(kind: str, car: Car) -> float | None:
    """The engine speed that keeps a shift from passing the redline, in the old gear; None where it is not known."""
    if car.redline_rpm is None:
        return None
    old, new = (car.rpm_per_mps(gear) for gear in kind.split("-"))
    if not (old and new):
        return None
    return min(LANDS_BELOW * car.redline_rpm * old / new, LANDS_BELOW * car.redline_rpm)


def _rounded(low: float, high: float, most: float | None) -> tuple[int, int]:
    """To hundreds, 400 rpm wide at least, and never above what is allowed."""
    low, high = 100 * math.floor(low / 100), 100 * math.ceil(high / 100)
    high = max(high, low + 400)
    if most is not None and high > most:
        high = int(100 * math.floor(most / 100))
        low = min(low, high - 400)
    return int(low), int(high)


def _tests(job: Job, car: Car, driven: Sequence[DriveResult]) -> tuple[TestLine, ...]:
    lines = []
    if car.gate is not None and car.gate.home is not None:
        for side, had in _released(driven).items():
            lines.append(TestLine(test=f"release_{side}", wanted=RELEASES, had=had))
    asked = [t for s in job.symptoms for t in _TESTS_OF.get(s, ())]
    for test in dict.fromkeys(asked):
        wanted = _TIMES.get(test, PRESSES)
        marked = sum(t.kind == test for r in driven for t in r.tests)
        lines.append(TestLine(test=test, wanted=wanted, had=wanted if marked else 0))
    return tuple(lines)


def _released(driven: Sequence[DriveResult]) -> dict[str, int]:
    """Let-goes by side within marked release tests; a lever that did not move counts for the side that lacks some."""
    had = {"right": 0, "left": 0, None: 0}
    for result in driven:
        spans = [(t.start_s, t.end_s) for t in result.tests if t.kind == "release"]
        for rest in result.rests:
            had[rest.came_from] += any(start_s <= rest.start_s <= end_s for start_s, end_s in spans)
    to_right = min(had[None], max(RELEASES - had["right"], 0))
    return {"right": had["right"] + to_right, "left": had["left"] + had[None] - to_right}
