"""Medians of few values, with what they are worth."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.stats import t

MEDIAN_OVER_MEAN = float(np.sqrt(np.pi / 2))
"""Standard error of a median over that of a mean, of many values of a normal distribution."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Middle:
    """Median, its standard uncertainty (None of a single value), and the degrees of freedom behind it."""

    value: float
    u: float | None
    freedom: float

    @property
    def interval95(self) -> tuple[float, float] | None:
        """By Student's t; None of a single value."""
        if self.u is None:
            return None
        reach = float(t.ppf(0.975, self.freedom)) * self.u
        return self.value - reach, self.value + reach


def middle_of(values: Sequence[float] | np.ndarray, *, least_u: float = 0.0, shared_u: float = 0.0) -> Middle:
    """The median of one value or more.

    least_u : what each value is worth by itself; shared_u : what all of them are off by alike
    """
    many = np.asarray(values, float)
    value = float(np.median(many))
    if many.size < 2:
        return Middle(value=value, u=None, freedom=0.0)
    u = MEDIAN_OVER_MEAN * float(many.std(ddof=1)) / np.sqrt(many.size)
    u = float(np.sqrt(u**2 + least_u**2 / many.size + shared_u**2))
    return Middle(value=value, u=u, freedom=many.size - 1.0)


def difference(a: Middle, b: Middle) -> Middle:
    """a − b; degrees of freedom after Welch and Satterthwaite."""
    if a.u is None or b.u is None:
        return Middle(value=a.value - b.value, u=None, freedom=0.0)
    u2 = a.u**2 + b.u**2
    freedom = u2**2 / (a.u**4 / a.freedom + b.u**4 / b.freedom) if u2 > 0 else a.freedom + b.freedom
    return Middle(value=a.value - b.value, u=float(np.sqrt(u2)), freedom=float(freedom))
