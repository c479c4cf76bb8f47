"""Gauge study: setups by drivers by repeats, by average and range and by analysis of variance.

AIAG, Measurement Systems Analysis, 4th edition, chapter III; its parts are setups of the car here, its appraisers are
drivers, its trials are repeat drives.
"""

from dataclasses import dataclass
from math import hypot, sqrt

import numpy as np
from scipy.special import fdtrc

from shiftlog.model.repeatability import GaugeStudy

# 1 / d2 for the mean of many ranges of n repeats (AIAG prints 0.8862 and 0.5908; the others from tables of d2).
_OF_REPEATS = {2: 0.8862, 3: 0.5908, 4: 0.4857, 5: 0.4299, 6: 0.3946, 7: 0.3698, 8: 0.3512, 9: 0.3367, 10: 0.3249}
# 1 / d2* for a single range of n means.
_OF_MEANS = {2: 0.7071, 3: 0.5231, 4: 0.4467, 5: 0.4030, 6: 0.3742, 7: 0.3534, 8: 0.3375, 9: 0.3249, 10: 0.3146}
# D4: a range of n repeats lies below this many mean ranges in 99.7 %.
_RANGE_LIMIT = {2: 3.267, 3: 2.574, 4: 2.282, 5: 2.114, 6: 2.004, 7: 1.924, 8: 1.864, 9: 1.816, 10: 1.777}
MOST = 10
# Above this p the interaction is taken for repeatability (AIAG's own choice).
POOL_P = 0.25


def study_ranges(values: np.ndarray) -> GaugeStudy:
    """Average-range method. values : (setups, drivers, repeats), 2 to 10 of each."""
    setups, drivers, repeats = values.shape
    repeat = float(np.ptp(values, axis=2).mean()) * _OF_REPEATS[repeats]
    spread = float(np.ptp(values.mean(axis=(0, 2)))) * _OF_MEANS[drivers]
    driver = sqrt(max(spread**2 - repeat**2 / (setups * repeats), 0.0))
    setup = float(np.ptp(values.mean(axis=(1, 2)))) * _OF_MEANS[setups]
    return _study("average and range", repeat, driver, 0.0, setup, None)


def find_unsteady(values: np.ndarray) -> list[tuple[int, int]]:
    """(setup, driver) whose repeats range wider than the upper limit of the range chart."""
    ranges = np.ptp(values, axis=2)
    return [(int(i), int(j)) for i, j in np.argwhere(ranges > ranges.mean() * _RANGE_LIMIT[values.shape[2]])]


@dataclass(frozen=True, eq=False, kw_only=True)
class Squares:
    """Sums of squares of a two-way layout with repeats, their degrees of freedom in the same order."""

    setup: float
    driver: float
    interaction: float
    repeat: float
    df: tuple[int, int, int, int]

    @property
    def p_interaction(self) -> float:
        """That the interaction is none, by F against the repeats."""
        _, _, df, df_repeat = self.df
        if self.repeat <= 0:
            return 0.0 if self.interaction > 0 else 1.0
        return float(fdtrc(df, df_repeat, (self.interaction / df) / (self.repeat / df_repeat)))


def sum_squares(values: np.ndarray) -> Squares:
    """Of values (setups, drivers, repeats)."""
    p, o, r = values.shape
    grand, cells = values.mean(), values.mean(axis=2)
    by_setup, by_driver = cells.mean(axis=1), cells.mean(axis=0)
    crossed = cells - by_setup[:, None] - by_driver + grand
    return Squares(
        setup=float(o * r * np.sum((by_setup - grand) ** 2)), driver=float(p * r * np.sum((by_driver - grand) ** 2)),
        interaction=float(r * np.sum(crossed**2)), repeat=float(np.sum((values - cells[..., None]) ** 2)),
        df=(p - 1, o - 1, (p - 1) * (o - 1), p * o * (r - 1)),
    )  # fmt: skip


def study_variance(values: np.ndarray) -> GaugeStudy:
    """Analysis of variance, setups and drivers random. values : (setups, drivers, repeats), two of each at least."""
    p, o, r = values.shape
    squares = sum_squares(values)
    df_setup, df_driver, df_crossed, df_repeat = squares.df
    repeat, crossed = squares.repeat / df_repeat, squares.interaction / df_crossed
    interaction = max(crossed - repeat, 0.0) / r
    if squares.p_interaction > POOL_P:
        repeat = crossed = (squares.repeat + squares.interaction) / (df_repeat + df_crossed)
        interaction = 0.0
    driver = max(squares.driver / df_driver - crossed, 0.0) / (p * r)
    setup = max(squares.setup / df_setup - crossed, 0.0) / (o * r)
    return _study(
        "analysis of variance", sqrt(repeat), sqrt(driver), sqrt(interaction), sqrt(setup), squares.p_interaction
    )  # fmt: skip


def _study(
    method: str, repeat: float, driver: float, interaction: float, setup: float, p_interaction: float | None
) -> GaugeStudy:
    gauge = hypot(repeat, driver, interaction)
    return GaugeStudy(
        method=method, repeat=repeat, driver=driver, interaction=interaction, gauge=gauge, setup=setup,
        total=hypot(gauge, setup), categories=1.41 * setup / gauge if gauge > 0 else 0.0,
        p_interaction=p_interaction,
    )  # fmt: skip
