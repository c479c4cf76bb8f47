"""What one driver in one car does alike: a candidate is judged again beside the others of the same drive.

The first judgement knows cars in general. Here the drive tells its own: at which level its plateaus lie, how long this
driver's hand takes, how quickly his clutch opens and takes up, and how often he changes gear at all.
"""

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from shiftlog.detect.phone_coast import Coast
from shiftlog.detect.phone_features import FEATURES, move_level
from shiftlog.detect.phone_pairs import Pair

APART_S = 0.15
"""Two candidates closer than this are one event."""

CROWDED_S = 1.3
"""A gear just taken is seldom changed again within this long (common practice, no source)."""

WORTH, LIKELY, LEAST = 0.05, 0.3, 0.5
"""Probability below which a candidate is not judged again; above which it tells of the drive; sum that tells enough."""

CLEAR_SIGMAS = 2.0
"""A candidate whose greater step stands out less from the road tells nothing of the drive."""

OFFSETS_MPS2 = np.arange(-0.5, 0.51, 0.1)
"""Levels tried, about the first estimate: bias, height gained and a mean that is not nil all move it."""

OFFSET_SD_MPS2 = 0.2
"""How far the level may well lie off the first estimate: 20 m gained in a kilometre are as much."""

FIGURES = ("first judgement", "shifts a minute", "level", "length", "fall time", "sharp out", "crowded")

SPREADS = {"level": 0.12, "length": 0.4, "fall time": 0.4, "sharp out": 0.3}
"""How alike one driver's shifts are: m/s², and logarithms for the rest."""

Judge = Callable[[np.ndarray], np.ndarray]
"""From figures (n, f) to the probability of each, (n,)."""


def pick_best(pairs: list[Pair], probability: np.ndarray, *, least: float) -> list[int]:
    """Indices of the candidates at or above ``least`` that no likelier one overlaps, likeliest first."""
    kept: list[int] = []
    for index in np.argsort(-probability, kind="stable"):
        if probability[index] < least:
            break
        if not any(_overlap(pairs[index], pairs[k]) for k in kept):
            kept.append(int(index))
    return kept


def _overlap(one: Pair, other: Pair) -> bool:
    return one.end_s >= other.start_s - APART_S and one.start_s <= other.end_s + APART_S


def _telling(pairs: list[Pair], probability: np.ndarray) -> list[int]:
    clear = np.array([max(p.steps) >= CLEAR_SIGMAS * p.road for p in pairs])
    return pick_best(pairs, np.where(clear, probability, 0.0), least=LIKELY)


def settle_level(pairs: list[Pair], features: np.ndarray, coast: Coast, judge: Judge) -> Coast:
    """The coasting level at which the drive holds most that looks like changes of gear."""

    def tried(off: float) -> tuple[float, Coast, np.ndarray, list[int]]:
        moved = replace(coast, rolling=coast.rolling + off)
        probability = judge(move_level(features, pairs, moved))
        telling = _telling(pairs, probability)
        score = float(np.sum(probability[telling] ** 2)) - 0.5 * (off / OFFSET_SD_MPS2) ** 2
        return score, moved, probability, telling

    _, best, probability, telling = max((tried(off) for off in OFFSETS_MPS2), key=lambda one: one[0])
    sure = [k for k in telling if pairs[k].kind == "gap" and probability[k] > LEAST]
    if len(sure) < 3:
        return best
    off = np.array([pairs[k].middle for k in sure]) - best.levels([pairs[k] for k in sure])
    step = np.clip(_weighted_median(off, probability[sure]), -0.1, 0.1) * len(sure) / (len(sure) + 2)
    return replace(best, rolling=best.rolling + float(step))


def read_habits(pairs: list[Pair], features: np.ndarray, coast: Coast, probability: np.ndarray) -> np.ndarray:
    """The figures ``FIGURES`` of each candidate, (n, 7); those below ``WORTH`` stay 0."""
    telling, minutes = _telling(pairs, probability), _minutes(pairs)
    own = {
        "level": np.clip([p.middle for p in pairs] - coast.levels(pairs), -1.5, 1.5),
        "length": np.log([p.end_s - p.start_s for p in pairs]),
        **{name: features[:, FEATURES.index(name)] for name in ("fall time", "sharp out")},
    }
    figures = np.zeros((len(pairs), len(FIGURES)))
    for index in np.flatnonzero(probability >= WORTH):
        others = [k for k in telling if not _overlap(pairs[index], pairs[k])]
        weights = probability[others]
        figures[index, :2] = _log_odds(probability[index]), np.log((weights.sum() + 0.5) / minutes)
        for column, (name, spread) in enumerate(SPREADS.items(), start=2):
            alike = np.array([name != "level" or pairs[k].kind == "gap" for k in others], bool)
            if name != "level" or pairs[index].kind == "gap":
                figures[index, column] = -_unlike(own[name][index], own[name][others], weights * alike, spread)
        figures[index, -1] = _crowding(pairs, index, others, probability)
    return figures


def _minutes(pairs: list[Pair]) -> float:
    stretches = {id(p.felt): p.felt.time_s[-1] - p.felt.time_s[0] for p in pairs}
    return max(sum(stretches.values()) / 60, 0.1)


def _log_odds(probability: float) -> float:
    held = np.clip(probability, 1e-4, 1 - 1e-4)
    return float(np.log(held / (1 - held)))


def _unlike(value: float, others: np.ndarray, weights: np.ndarray, spread: float) -> float:
    """Squared distance from the others' median in spreads, at most 9, the less counted the fewer they are."""
    total = float(weights.sum())
    if total <= LEAST:
        return 0.0
    apart = (value - _weighted_median(others, weights)) / spread
    return min(apart**2, 9.0) * total / (total + 2)


def _crowding(pairs: list[Pair], index: int, others: list[int], probability: np.ndarray) -> float:
    """The probability of the likelier neighbour within ``CROWDED_S``, 0 where there is none."""
    one = pairs[index]
    near = [
        probability[k]
        for k in others
        if max(pairs[k].start_s - one.end_s, one.start_s - pairs[k].end_s) < CROWDED_S
        and probability[k] > probability[index]
    ]
    return max(near, default=0.0)


def _weighted_median(values: np.ndarray, weights: np.ndarray) -> float:
    order = np.argsort(values)
    sums = np.cumsum(weights[order])
    return float(values[order][np.searchsorted(sums, sums[-1] / 2)])
