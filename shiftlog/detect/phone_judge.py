"""How likely each candidate is a change of gear, which of those that overlap stands, and why the others do not."""

from dataclasses import dataclass

import numpy as np

from shiftlog.detect.phone_coast import Coast
from shiftlog.detect.phone_features import FEATURES, read_features
from shiftlog.detect.phone_pairs import Pair
from shiftlog.detect.phone_weights import WEIGHTS

APART_S = 0.15
"""Two candidates closer than this are one event."""

BRAKED_MPS2 = -0.9
"""An engine alone seldom slows a car harder than this beyond its coasting level (common practice, no source)."""

SHOCK = 1.4
"""A vertical shock four times the shaking around it."""

BEND_MPS2 = 1.5
"""A change of lateral acceleration that is a bend's."""

TERMS = {
    kind: (constant, *(np.array(column) for column in zip(*terms, strict=True)))
    for kind, (constant, terms) in WEIGHTS.items()
}
"""By kind: constant, weights, places of first and second figure; the place -1 is that of a 1 put at the end."""

OFF_SIGMAS = 2.0
"""A plateau further off the coasting level than this is not that of an open clutch."""


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
        pair = self.pair
        road = float(pair.felt.road[pair.first : pair.second + 1].mean())
        return max(abs(pair.middle - pair.before), abs(pair.after - pair.middle)) / road


def judge_pairs(pairs: list[Pair], coast: Coast) -> list[Judged]:
    """Every candidate that no better one overlaps, in order of time."""
    judged = [_judge(pair, coast) for pair in pairs]
    kept: list[Judged] = []
    for one in sorted(judged, key=lambda j: -j.probability):
        if all(one.pair.end_s < k.pair.start_s - APART_S or one.pair.start_s > k.pair.end_s + APART_S for k in kept):
            kept.append(one)
    return sorted(kept, key=lambda j: j.pair.start_s)


def _judge(pair: Pair, coast: Coast) -> Judged:
    features = read_features(pair, coast)
    return Judged(
        pair=pair, probability=probability_of(features, pair.kind), features=features,
        level=coast.at((pair.start_s + pair.end_s) / 2),
    )  # fmt: skip


def probability_of(features: np.ndarray, kind: str) -> float:
    """Probability that a candidate of a kind is a change of gear: logistic in its figures and products of two."""
    constant, weights, first, second = TERMS[kind]
    figures = np.append(features, 1.0)
    score = constant + weights @ (figures[first] * figures[second])
    return float(1 / (1 + np.exp(-np.clip(score, -30, 30))))


def reason_against(judged: Judged) -> str:
    """Why a candidate was not taken for a change of gear, the most telling thing first."""
    return f"{_cause(judged)} (probability of a change of gear {judged.probability:.2f})"


def _cause(judged: Judged) -> str:
    pair, above = judged.pair, 2 * judged.figure("above coasting")
    before, after = pair.before - judged.level, pair.after - judged.level
    if judged.figure("shock") > SHOCK:
        return "a shock from the road goes with it"
    if min(before, after) < BRAKED_MPS2:
        return "the brakes came on or went off, and neither a release of the drive nor its taking up stands out"
    if judged.figure("sideways") > BEND_MPS2:
        return "it goes with a bend"
    if above < -OFF_SIGMAS:
        return "the car slowed more than it does rolling freely: the throttle was lifted with the gear in"
    if above > OFF_SIGMAS:
        return "the drive was lessened, not taken away"
    if judged.figure("depth over road") < np.log(2.0):
        return "its steps hardly stand out from the road"
    return "the drive went and came back, but not in the way a clutch does it"
