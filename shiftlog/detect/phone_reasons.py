"""Why a candidate was not taken for a change of gear."""

import numpy as np

from shiftlog.detect.phone_judge import Judged
from shiftlog.detect.phone_pairs import Pair

BRAKED_MPS2 = -0.9
"""An engine alone seldom slows a car harder than this beyond its coasting level (common practice, no source)."""

SHOCK = 4.0
"""A vertical shock four times the shaking around it."""

BEND_MPS2 = 1.5
"""A change of lateral acceleration that is a bend's."""

OFF_SIGMAS = 2.0
"""A plateau further off the coasting level than this is not that of an open clutch."""


def reason_against(judged: Judged) -> str:
    """Why a candidate was not taken for a change of gear, the most telling thing first."""
    return f"{_cause(judged)} (probability of a change of gear {judged.probability:.2f})"


def _cause(judged: Judged) -> str:
    pair, above = judged.pair, 2 * judged.figure("above coasting")
    before, after = pair.before - judged.level, pair.after - judged.level
    if _shock(pair) > SHOCK:
        return "a shock from the road goes with it"
    if min(before, after) < BRAKED_MPS2:
        return "the brakes came on or went off, and neither a release of the drive nor its taking up stands out"
    if _sideways(pair) > BEND_MPS2:
        return "it goes with a bend"
    if above < -OFF_SIGMAS:
        return "the car slowed more than it does rolling freely: the throttle was lifted with the gear in"
    if above > OFF_SIGMAS:
        return "the drive was lessened, not taken away"
    if judged.figure("depth over road") < np.log(2.0):
        return "its steps hardly stand out from the road"
    return "the drive went and came back, but not in the way a clutch does it"


def _shock(pair: Pair) -> float:
    """The hardest vertical shock about the candidate over the shaking around it."""
    shock, first, second = pair.felt.shock, pair.first, pair.second
    hardest = np.abs(shock[max(first - 10, 0) : second + 25]).max()
    around = np.sqrt(np.mean(shock[max(first - 150, 0) : second + 150] ** 2))
    return float(hardest / (around + 0.02))


def _sideways(pair: Pair) -> float:
    """How much lateral acceleration changes over the candidate [m/s²]."""
    side, first, second = pair.felt.sideways, pair.first, pair.second
    return abs(float(side[second + 6 : second + 30].mean() - side[max(first - 30, 0) : first - 6].mean()))
