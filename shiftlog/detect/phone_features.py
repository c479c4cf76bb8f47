"""The twelve figures on which a candidate is judged, each a physical thing with a name.

Every one is a share, a ratio or a logarithm, so that a heavy car and a light one, a weak engine and a strong one read
alike; acceleration itself comes in once, as the size of the first step.
"""

import numpy as np

from shiftlog.detect.phone_coast import Coast, speed_at
from shiftlog.detect.phone_evidence import GRID_HZ
from shiftlog.detect.phone_pairs import GUARD_S, Pair

FEATURES = (
    "coast stay", "above coasting", "length", "step out", "depth over road", "fall time", "sharp out",
    "swing at take-up", "dip at take-up", "flat", "drive ratio", "speed",
)  # fmt: skip

LEVEL_FEATURES = ("coast stay", "above coasting", "drive ratio")
"""Those that hang on the coasting level."""

LATE_S = 0.5
"""How late speed from satellites usually comes (common practice, no source)."""

FAST_MPS = 20.0
"""Beyond this, speed tells nothing more of whether a gear was changed."""

NO_DRIVE_MPS2 = 0.05
"""Drive below this counts as this much in the ratio of drives."""

EDGE_S, FALLEN, BEGUN = 0.6, 0.85, 0.15
"""A fall is looked for this long on both sides of its step; it runs between these shares of its size."""

USUAL_FALL_S = 0.2
"""How long a clutch takes to open, and drive to go (common practice, no source)."""


def read_features(pair: Pair, coast: Coast) -> np.ndarray:
    """The figures of one candidate, (f,), each of order 1; see ``FEATURES``."""
    felt, first, second = pair.felt, pair.first, pair.second
    out, back = pair.steps
    inset = min(round(GUARD_S * GRID_HZ), (second - first) // 3)
    within = felt.slow[first + inset : second - inset + 1]
    near = felt.slow[max(second - 15, 0) : second + 16]
    stay, above, ratio = (float(figure[0]) for figure in _level_figures([pair], coast))
    return np.array([
        stay, above, np.log(pair.end_s - pair.start_s), np.log(0.1 + out), np.log(0.1 + min(out, back) / pair.road),
        _fall(pair), np.log(0.1 + abs(felt.step[first]) / (out + 0.2)), _swing(pair),
        min(pair.middle, pair.before, pair.after) - near.min(), np.log(0.1 + float(within.std()) / pair.road), ratio,
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
    spread = np.hypot(coast.sd, 0.5 * road)
    drive, again = (np.maximum(end - level, NO_DRIVE_MPS2) for end in (before, after))
    stay = [_stay(p, at, 2 * sd) for p, at, sd in zip(pairs, level, spread, strict=True)]
    return [np.array(stay), np.clip((middle - level) / spread, -4.0, 4.0) / 2.0, np.log(again / drive)]


def _stay(pair: Pair, level: float, reach: float) -> float:
    """Share of the time between both steps at which the car is slowed by drag alone."""
    within = pair.felt.quick[pair.first + 2 : pair.second - 1]
    return float(np.mean(np.abs(within - level) < reach))


def _fall(pair: Pair) -> float:
    """How long the first step takes, as a logarithm, 0 for ``USUAL_FALL_S``."""
    reach = round(EDGE_S * GRID_HZ)
    size = pair.middle - pair.before
    share = (pair.felt.quick[max(pair.first - reach, 0) : pair.first + reach + 1] - pair.before) / (
        size if abs(size) > 1e-3 else 1e-3
    )
    at = min(reach, pair.first)
    early, late = np.flatnonzero(share[: at + 1] <= BEGUN), np.flatnonzero(share[at:] >= FALLEN)
    begun = int(early[-1]) if early.size else 0
    fallen = at + int(late[0]) if late.size else share.size - 1
    return float(np.log((fallen - begun + 1) / GRID_HZ / USUAL_FALL_S))


def _swing(pair: Pair) -> float:
    """Longitudinal swing from 2 to 8 Hz after the second step, over what the road gives, as a logarithm."""
    values = pair.felt.shuffle[max(pair.second - 3, 0) : pair.second + 35]
    return float(np.log(np.sqrt(np.mean(values**2)) / pair.felt.road_shuffle[pair.second]))
