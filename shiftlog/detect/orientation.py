"""Which of the maps that fit the places is the true one: what the log declares, then speeds, then order of gears."""

from dataclasses import dataclass

import numpy as np

from shiftlog.detect.dwells import Dwells
from shiftlog.detect.lattice import Candidate
from shiftlog.model.car import REVERSE, Car
from shiftlog.model.drive import Signals
from shiftlog.model.trace import Trace

# Maps whose scores lie this close (as a share of the best) are weighed against each other; mirrored and shifted
# readings of one fit score alike, so that each hundredth of a loss costs half a unit of the odds below.
EQUAL_SCORE = 0.12
SCORE_UNIT = 0.02
# Natural logarithm of the odds from which an answer counts as found: about twenty to one.
DECISIVE = 3.0
# Spread of engine speed over vehicle speed within a gear, natural logarithm: tyre, slip, rounding.
RATIO_SIGMA = 0.06
# What gear follows what in driving (common practice, no source): mostly the next one up or down.
STEP_PENALTY = (0.0, 0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0)
REVERSE_PENALTY = 2.5
FIRST_PENALTY = 1.2
LATER_PENALTY = 0.5
REVERSE_FASTEST_MPS = 8.0


@dataclass(frozen=True, eq=False, kw_only=True)
class Chosen:
    """The map taken, how its orientation is known (``declared`` | ``found`` | ``assumed``), and by what."""

    candidate: Candidate
    orientation: str
    evidence: str


def choose_candidate(candidates: tuple[Candidate, ...], dwells: Dwells, signals: Signals, car: Car) -> Chosen:
    """Take the map that the evidence favours; candidates best first, at least one."""
    declared = [c for c in candidates if _agrees(c, signals.lever_grows)]
    pool = declared if any(signals.lever_grows) and declared else list(candidates)
    fully_declared = pool is declared and all(signals.lever_grows)
    fit = {c: -(pool[0].score - c.score) / (SCORE_UNIT * abs(pool[0].score)) for c in pool}
    left = [c for c in pool if fit[c] >= -EQUAL_SCORE / SCORE_UNIT]
    words = "the places the lever lies in fit one way only"
    for weigh, name in ((_weigh_speeds, "engine and vehicle speed"), (_weigh_order, "the order of gears in driving")):
        kept = _keep_likely(left, [fit[c] + weigh(c, dwells, signals, car) for c in left])
        words = name if len(kept) < len(_keep_likely(left, [fit[c] for c in left])) else words
        left = kept
    if fully_declared:
        return Chosen(candidate=_plainest(left), orientation="declared", evidence="declared in drive.toml")
    if len(left) == 1:
        return Chosen(candidate=left[0], orientation="found", evidence=words)
    return Chosen(
        candidate=_plainest(left), orientation="assumed",
        evidence="nothing in this log tells left from right or forward from rearward: right and forward are assumed "
        "to grow; declare `grows` in drive.toml",
    )  # fmt: skip


def _keep_likely(candidates: list[Candidate], odds: list[float]) -> list[Candidate]:
    return [c for c, o in zip(candidates, odds, strict=True) if o > max(odds) - DECISIVE]


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
    seen = [(g, r) for g, r in ((g, stay_ratio(signals, a, b)) for g, a, b in stays) if r is not None and g != REVERSE]
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


def stay_ratio(signals: Signals, start_s: float, end_s: float) -> float | None:
    """Median ln(rpm / (m/s)) over the later part of a stay under way, or None."""
    if signals.engine_speed is None or signals.vehicle_speed is None:
        return None
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
    """Penalty for beginning the drive, or going on from two seconds and more in neutral, in a high gear."""
    order = [candidate.gears[c] for c in dwells.cluster]
    seconds = dwells.end_s - dwells.start_s
    later = [b for a, b, s in zip(order[:-1], order[1:], seconds[:-1], strict=True) if a is None and b and s > 2.0]
    first = next((g for g in order if g), "1")
    return FIRST_PENALTY * _above_first(first) + LATER_PENALTY * sum(_above_first(g) for g in later)


def _above_first(gear: str) -> int:
    """How far a gear lies above first, three at the most."""
    return 0 if gear == REVERSE else min(int(gear) - 1, 3)
