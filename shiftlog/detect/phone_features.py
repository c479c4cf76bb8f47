"""The figures on which a candidate is judged, each a physical thing with a name."""

import numpy as np

from shiftlog.detect.phone_coast import Coast, speed_at
from shiftlog.detect.phone_evidence import GRID_HZ
from shiftlog.detect.phone_pairs import GUARD_S, Pair

FEATURES = (
    "step out", "step back", "depth over road", "off coasting", "above coasting", "flat", "long", "short",
    "sharp out", "sharp back", "swing at take-up", "swing within", "swing before", "shock", "dip at take-up",
    "sideways", "change", "drive before", "drag before", "drive after", "drag after", "rebound",
    "jerk out", "jerk back", "undershoot", "tilt", "speed",
)  # fmt: skip

LEVEL_FEATURES = ("off coasting", "above coasting", "drive before", "drag before", "drive after", "drag after")
"""Those that hang on the coasting level."""

LATE_S = 0.5
"""How late speed from satellites usually comes (common practice, no source)."""

FAST_MPS = 20.0
"""Beyond this, speed tells nothing more of whether a gear was changed."""


def read_features(pair: Pair, coast: Coast) -> np.ndarray:
    """The figures of one candidate, (f,), each of order 1; see ``FEATURES``."""
    felt, first, second = pair.felt, pair.first, pair.second
    road, wait = pair.road, pair.end_s - pair.start_s
    out, back = abs(pair.middle - pair.before), abs(pair.after - pair.middle)
    inset = min(round(GUARD_S * GRID_HZ), (second - first) // 3)
    within = felt.slow[first + inset : second - inset + 1]
    near = felt.slow[max(second - 15, 0) : second + 16]
    off, above, *levels = (float(figure[0]) for figure in _level_figures([pair], coast))
    return np.array([
        np.log(0.1 + out), np.log(0.1 + back), np.log(0.1 + min(out, back) / road),
        off, above, np.log(0.1 + float(within.std()) / road),
        np.log(max(wait, 0.8)), np.log(min(wait, 0.4)) + 1.0,
        np.log(0.1 + abs(felt.step[first]) / (out + 0.2)), np.log(0.1 + abs(felt.step[second]) / (back + 0.2)),
        _swing(pair, second - 3, second + 35, second), _swing(pair, first + 4, min(second - 6, first + 40), first),
        _swing(pair, first - 50, first - 10, first), _shock(pair),
        min(pair.middle, pair.before, pair.after) - near.min(),
        _sideways(pair), np.clip(pair.after - pair.before, -3.0, 3.0),
        *levels,
        near.max() - max(pair.middle, pair.before, pair.after),
        _jerk(pair, first, out), _jerk(pair, second, back), _undershoot(pair), _tilt(pair, road),
        min(float(speed_at(coast.speed, np.array(pair.start_s + LATE_S))), FAST_MPS) / FAST_MPS,
    ])  # fmt: skip


def move_level(features: np.ndarray, pairs: list[Pair], coast: Coast) -> np.ndarray:
    """The figures (n, f) of candidates as another coasting level gives them."""
    moved = features.copy()
    for name, figure in zip(LEVEL_FEATURES, _level_figures(pairs, coast), strict=True):
        moved[:, FEATURES.index(name)] = figure
    return moved


def _level_figures(pairs: list[Pair], coast: Coast) -> list[np.ndarray]:
    """``LEVEL_FEATURES``, each (n,)."""
    level = coast.levels(pairs)
    road, before, middle, after = np.array([(p.road, p.before, p.middle, p.after) for p in pairs]).T
    off = (middle - level) / np.hypot(coast.sd, 0.5 * road)
    ends = [np.clip(end - level, low, low + 3.0) for end in (before, after) for low in (0.0, -3.0)]
    return [np.log(0.3 + np.abs(off)), np.clip(off, -4.0, 4.0) / 2.0, *ends]


def _swing(pair: Pair, first: int, last: int, at: int) -> float:
    """Longitudinal swing from 2 to 8 Hz over what the road gives, as a logarithm; 0 where there is no room."""
    values = pair.felt.shuffle[max(first, 0) : last]
    if values.size < 8:
        return 0.0
    return float(np.log(np.sqrt(np.mean(values**2)) / pair.felt.road_shuffle[at]))


def _shock(pair: Pair) -> float:
    """The hardest vertical shock about the candidate over the shaking around it, as a logarithm."""
    shock, first, second = pair.felt.shock, pair.first, pair.second
    hardest = np.abs(shock[max(first - 10, 0) : second + 25]).max()
    around = np.sqrt(np.mean(shock[max(first - 150, 0) : second + 150] ** 2))
    return float(np.log(0.05 + hardest / (around + 0.02)))


def _sideways(pair: Pair) -> float:
    """How much lateral acceleration changes over the candidate [m/s²]."""
    side, first, second = pair.felt.sideways, pair.first, pair.second
    return min(abs(float(side[second + 6 : second + 30].mean() - side[max(first - 30, 0) : first - 6].mean())), 3.0)


def _jerk(pair: Pair, at: int, step: float) -> float:
    """The fastest change within 0.2 s of a step over its size [1/s], as a logarithm: clutches are quicker than feet."""
    fastest = np.abs(np.diff(pair.felt.quick[at - 10 : at + 11])).max() * GRID_HZ
    return float(np.log(1.0 + fastest / (step + 0.2)))


def _undershoot(pair: Pair) -> float:
    """How far acceleration passes its plateau right after the first step, the step's way [m/s²]."""
    soon = pair.felt.slow[pair.first : min(pair.first + 15, pair.second)]
    beyond = pair.middle - soon.min() if pair.middle < pair.before else soon.max() - pair.middle
    return float(np.clip(beyond, 0.0, 2.0))


def _tilt(pair: Pair, road: float) -> float:
    """How far the plateau runs up or down between its ends, in standard deviations of the road, as a logarithm."""
    third = max((pair.second - pair.first) // 3, 1)
    middle = pair.felt.slow[pair.first + third // 2 : pair.second - third // 2 + 1]
    half = max(middle.size // 2, 1)
    return float(np.log(0.1 + abs(middle[half:].mean() - middle[:half].mean()) / road)) if middle.size > 1 else 0.0
