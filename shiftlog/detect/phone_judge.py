"""How likely each candidate is a change of gear, and which of those that overlap stands."""

from dataclasses import dataclass

import numpy as np

from shiftlog.detect.phone_coast import Coast
from shiftlog.detect.phone_features import FEATURES, move_level, read_features
from shiftlog.detect.phone_habits import WORTH, pick_best, read_habits, settle_level
from shiftlog.detect.phone_pairs import Pair
from shiftlog.detect.phone_weights import HABITS, KNOTS, WEIGHTS

CURVES = {kind: (constant, np.array(heights)) for kind, (constant, heights) in WEIGHTS.items()}
"""By kind: constant, and the height (f, 5) of each figure's curve at its ``KNOTS``."""

TEMPER = {"speed": (0.32, 0.91), "no speed": (0.14, 0.78)}
"""Constant and slope that make the log odds honest for a driver no curve was fitted to, with vehicle speed beside the
acceleration and without, when the coasting level is known less well: fitted by ``tests.truth.phone_held_out`` to six
drivers, each judged by curves of the other five. Two of them do what looks like a change of gear as often as they
change gear; of them claims are bolder than true, of the others shyer."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Judged:
    """A candidate with the probability that it is a change of gear, its figures and the coasting level there."""

    pair: Pair
    probability: float
    features: np.ndarray
    level: float

    def figure(self, name: str) -> float:
        """One of its figures."""
        return float(self.features[FEATURES.index(name)])

    @property
    def step_over_road(self) -> float:
        """The greater of its two steps over what the road gives there."""
        return max(self.pair.steps) / self.pair.road

    @property
    def release_over_road(self) -> float:
        """Its first step over what the road gives there."""
        return self.pair.steps[0] / self.pair.road


def judge_pairs(pairs: list[Pair], coast: Coast) -> list[Judged]:
    """Every candidate that no better one overlaps, in order of time."""
    if not pairs:
        return []
    features, coast, first = judge_alone(pairs, coast)
    habits = read_habits(pairs, features, coast, first)
    again = _logistic(HABITS[0] + habits @ np.array(HABITS[1:]))
    probability = np.where(first >= WORTH, again, np.minimum(first, 0.8 * WORTH))
    probability = temper(probability, TEMPER["no speed" if coast.speed is None else "speed"])
    levels = coast.levels(pairs)
    kept = pick_best(pairs, probability, least=0.0)
    judged = [
        Judged(pair=pairs[k], probability=float(probability[k]), features=features[k], level=float(levels[k]))
        for k in kept
    ]
    return sorted(judged, key=lambda j: j.pair.start_s)


def judge_alone(pairs: list[Pair], coast: Coast) -> tuple[np.ndarray, Coast, np.ndarray]:
    """Figures (n, f), the coasting level the drive settles on, and the probability (n,) of each by its own figures."""
    kinds = np.array([pair.kind for pair in pairs])
    features = np.array([read_features(pair, coast) for pair in pairs])
    settled = settle_level(pairs, features, coast, lambda figures: probabilities_of(figures, kinds))
    features = move_level(features, pairs, settled)
    return features, settled, probabilities_of(features, kinds)


def probabilities_of(features: np.ndarray, kinds: np.ndarray) -> np.ndarray:
    """Probability (n,) that candidates of these kinds are changes of gear: what each figure (n, f) tells, added up."""
    probability = np.zeros(len(features))
    for kind, (constant, heights) in CURVES.items():
        of_kind = kinds == kind
        told = [
            np.interp(figure, knots, curve)
            for figure, knots, curve in zip(features[of_kind].T, KNOTS, heights, strict=True)
        ]
        probability[of_kind] = _logistic(constant + np.sum(told, axis=0))
    return probability


def temper(probability: np.ndarray, by: tuple[float, float]) -> np.ndarray:
    """Probabilities (n,) of the judgement as they hold for a driver that it was not fitted to.

    by : constant and slope of the log odds
    """
    held = np.clip(probability, 1e-6, 1 - 1e-6)
    return _logistic(by[0] + by[1] * np.log(held / (1 - held)))


def _logistic(score: np.ndarray) -> np.ndarray:
    return 1 / (1 + np.exp(-np.clip(score, -30, 30)))
