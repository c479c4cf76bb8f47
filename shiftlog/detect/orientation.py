"""Which of the maps that fit the places is the true one: what the log declares, then speeds, then order of gears."""

from dataclasses import dataclass

import numpy as np

from shiftlog.detect.dwells import Dwells
from shiftlog.detect.lattice import Candidate
from shiftlog.model.car import REVERSE, Car
from shiftlog.model.drive import Signals
from shiftlog.model.trace import Trace

# Maps whose scores lie this close (as a share of the best) fit the places equally well.
EQUAL_SCORE = 0.12
# Natural logarithm of the odds from which an answer counts as found: about twenty to one.
DECISIVE = 3.0
# Spread of engine speed over vehicle speed within a gear, natural logarithm: tyre, slip, rounding.
RATIO_SIGMA = 0.06
# What gear follows what in driving (common practice, no source): mostly the next one up or down.
STEP_PENALTY = (0.0, 0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0)
REVERSE_PENALTY = 2.5
REVERSE_FASTEST_MPS = 8.0


@dataclass(frozen=True, eq=False, kw_only=True)
class Chosen:
    """The map taken, how its orientation is known (``declared`` | ``found`` | ``assumed``), and by what."""

    candidate: Candidate
    orientation: str
    evidence: str


def choose_candidate(candidates: tuple[Candidate, ...], dwells: Dwells, signals: Signals, car: Car) -> Chosen:
    """Take the map that the evidence favours; candidates best first, at least one."""
    left = [c for c in candidates if c.score >= candidates[0].score - EQUAL_SCORE * abs(candidates[0].score)]
    declared = [c for c in candidates if _agrees(c, signals.lever_grows)]
    fully_declared = all(signals.lever_grows) and bool(declared)
    if any(signals.lever_grows) and declared:
        left = [c for c in declared if c.score >= declared[0].score - EQUAL_SCORE * abs(declared[0].score)]
    for weigh, words in (
        (_weigh_speeds, "engine and vehicle speed"),
        (_weigh_order, "the order of gears in driving"),
    ):
        if len(left) == 1:
            break
        odds = np.array([weigh(c, dwells, signals, car) for c in left])
        keep = odds > odds.max() - DECISIVE
        if not keep.all():
            left = [c for c, k in zip(left, keep, strict=True) if k]
            if len(left) == 1:
                return Chosen(candidate=left[0], orientation="declared" if fully_declared else "found", evidence=words)
    if fully_declared:
        return Chosen(candidate=_plainest(left), orientation="declared", evidence="declared in drive.toml")
    if len(left) == 1:
        return Chosen(candidate=left[0], orientation="found", evidence="the places the lever lies in fit one way only")
    return Chosen(
        candidate=_plainest(left), orientation="assumed",
        evidence="nothing in this log tells left from right or forward from rearward: right and forward are assumed "
        "to grow; declare `grows` in drive.toml",
    )  # fmt: skip


def _agrees(candidate: Candidate, grows: tuple[str | None, str | None]) -> bool:
    """Whether a map agrees with what the log declares: the raw axis grows that way and follows mainly that axis."""
    raw_per_mm = np.linalg.inv(candidate.matrix)
    for axis, word in enumerate(grows):
        if word is None:
            continue
        along = raw_per_mm[axis, axis] * (1 if word in ("right", "forward") else -1)
        if along <= abs(raw_per_mm[axis, 1 - axis]):
            return False
    return True


def _plainest(candidates: list[Candidate]) -> Candidate:
    """The map nearest to select growing right and engage growing forward; of equals the best score."""

    def turned(candidate: Candidate) -> float:
        unit = candidate.matrix / np.linalg.norm(candidate.matrix, axis=0)
        return -float(np.round(np.trace(unit), 1))

    return min(candidates, key=lambda c: (turned(c), -c.score))


def stay_gears(candidate: Candidate, dwells: Dwells) -> list[tuple[str, float, float]]:
    """The gears dwelt in, in order, neutral left out: (gear, start_s, end_s)."""
    return [
        (gear, float(a), float(b))
        for gear, a, b in zip(
            (candidate.gears[c] for c in dwells.cluster), dwells.start_s, dwells.end_s, strict=True
        )
        if gear is not None
    ]  # fmt: skip


def _weigh_speeds(candidate: Candidate, dwells: Dwells, signals: Signals, car: Car) -> float:
    """Log likelihood of engine speed over vehicle speed in each stay, and of the speeds driven in reverse."""
    if signals.vehicle_speed is None:
        return 0.0
    stays = stay_gears(candidate, dwells)
    reverse = sum(
        _median_within(signals.vehicle_speed, a, b) > REVERSE_FASTEST_MPS for g, a, b in stays if g == REVERSE
    )
    if signals.engine_speed is None:
        return -5.0 * reverse
    seen = [(g, r) for g, r in ((g, _stay_ratio(signals, a, b)) for g, a, b in stays) if r is not None and g != REVERSE]
    if not seen:
        return -5.0 * reverse
    return -5.0 * reverse + _ratio_likelihood(seen, car)


def _ratio_likelihood(seen: list[tuple[str, float]], car: Car) -> float:
    gears = sorted({g for g, _ in seen})
    centre = {g: float(np.median([r for k, r in seen if k == g])) for g in gears}
    known = {g: car.rpm_per_mps(g) for g in gears}
    if all(known.values()):
        # One common scale stands for the tyre; it may be a few per cent off.
        off = [centre[g] - np.log(known[g]) for g in gears]
        scale = float(np.clip(np.median(off), -0.06, 0.06))
        return -sum(min(((o - scale) / RATIO_SIGMA) ** 2 / 2, 20.0) for o in off)
    wrong = sum(centre[a] < centre[b] + 0.05 for a, b in zip(gears, gears[1:], strict=False))
    spread = np.mean([min(((r - centre[g]) / RATIO_SIGMA) ** 2 / 2, 5.0) for g, r in seen])
    return -8.0 * wrong - float(spread)


def _stay_ratio(signals: Signals, start_s: float, end_s: float) -> float | None:
    """Median ln(rpm / (m/s)) over the later part of a stay under way, or None."""
    assert signals.engine_speed is not None and signals.vehicle_speed is not None
    at = np.linspace(start_s + 0.4 * (end_s - start_s), end_s, 15)
    v = np.interp(at, signals.vehicle_speed.time_s, signals.vehicle_speed.values)
    n = np.interp(at, signals.engine_speed.time_s, signals.engine_speed.values)
    use = (v > 2.0) & (n > 300)
    return float(np.median(np.log(n[use] / v[use]))) if use.sum() >= 5 else None


def _median_within(trace: Trace, start_s: float, end_s: float) -> float:
    inside = trace.values[(trace.time_s >= start_s) & (trace.time_s <= end_s)]
    return float(np.median(inside)) if inside.size else 0.0


def _weigh_order(candidate: Candidate, dwells: Dwells, signals: Signals, car: Car) -> float:
    """Log likelihood of the order of gears: neighbours follow each other, first comes first, reverse is rare."""
    gears = [g for g, _, _ in stay_gears(candidate, dwells)]
    changes = [(a, b) for a, b in zip(gears, gears[1:], strict=False) if a != b]
    total = 0.0
    for a, b in changes:
        if REVERSE in (a, b):
            total -= 0.0 if "1" in (a, b) else REVERSE_PENALTY
        else:
            total -= STEP_PENALTY[min(abs(int(a) - int(b)), len(STEP_PENALTY) - 1)]
    return total - _first_gears(candidate, dwells)


def _first_gears(candidate: Candidate, dwells: Dwells) -> float:
    """Penalty for a high gear taken after the lever had lain in neutral for two seconds and more."""
    order = [candidate.gears[c] for c in dwells.cluster]
    seconds = dwells.end_s - dwells.start_s
    firsts = [b for a, b, s in zip(order, order[1:], seconds[:-1], strict=True) if a is None and b and s > 2.0]
    numbers = [1 if g == REVERSE else int(g) for g in firsts]
    return 0.7 * sum(min(n - 1, 3) for n in numbers)
