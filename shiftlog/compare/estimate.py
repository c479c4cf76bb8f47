"""A difference with what is known of its error, and Student's t on it."""

from dataclasses import dataclass
from math import sqrt

from scipy.special import fdtrc, stdtr, stdtrit

from shiftlog.model.comparison import DAYS

UNLIKE_P = 0.25
"""Below it repeat drives are not believed, as a doubt asks for less than a claim.

Bancroft, Biometrics 20 (1964), from memory.
"""
OTHERS_DF = 3
"""Degrees of freedom that other cars' repeat drives count for at the most, however many they are.

As a prior for this car's variance, 3 let the spread of one car be 1.6 times that of another, one standard deviation
either way (common practice, no source). By themselves they leave a verdict provisional.
"""
DAYS_KNOWN = "drives, and repeat drives of this car"
DAYS_OF_OTHERS = "drives, and repeat drives of other cars"


@dataclass(frozen=True, eq=False, kw_only=True)
class Estimate:
    """Means of the drives' figures on each side and their difference (after − before).

    variance : of the difference; df : degrees of freedom of that variance
    drive_variance : of one drive's figure, shifts included; noise_variance : the part that more shifts would lower
    rests_on : what told the spread, ``DAYS`` | ``DAYS_KNOWN`` | ``DAYS_OF_OTHERS`` | ``SHIFTS`` | ``TESTS`` (of the
        last two how drives differ is not known)
    history_df : degrees of freedom that repeat drives gave
    """

    before: float
    after: float
    difference: float
    variance: float
    df: float
    drive_variance: float
    noise_variance: float
    rests_on: str
    history_df: int = 0

    @property
    def error(self) -> float:
        """Standard error of the difference."""
        return sqrt(self.variance)

    @property
    def is_flat(self) -> bool:
        """Whether nothing spreads, or no more than numbers are rounded, so that nothing can be said of the spread."""
        return self.df <= 0 or self.variance <= find_rounding(self.before, self.after)

    @property
    def p(self) -> float | None:
        """Two-sided p, or None where nothing spreads."""
        if self.is_flat:
            return None
        return float(2 * stdtr(self.df, -abs(self.difference) / self.error))

    def reach(self, confidence: float) -> float:
        """Half the width of the interval."""
        return find_t(self.df, 0.5 + confidence / 2) * self.error if not self.is_flat else 0.0


def find_rounding(*figures: float) -> float:
    """A variance so small beside the figures that only rounding can have made it."""
    return (1e-9 * max(abs(figure) for figure in figures)) ** 2


def find_t(df: float, share: float) -> float:
    """The quantile of Student's t."""
    return float(stdtrit(df, share))


@dataclass(frozen=True, eq=False, kw_only=True)
class Spread:
    """Variance of one drive's figure with its degrees of freedom, of which repeat drives gave ``history_df``.

    shaken : the part of it that the variance of one shift makes, over that variance
    rests_on : as in ``Estimate``
    """

    variance: float
    df: int
    shaken: float = 0.0
    history_df: int = 0
    rests_on: str = DAYS


def join_spread(own: Spread, past: Spread, *, of_others: bool) -> Spread:
    """What these drives and repeat drives tell together; these alone where they differ far more than those did (F)."""
    past_df = min(past.df, OTHERS_DF) if of_others else past.df
    if past_df == 0 or past.variance <= 0:
        return own
    if own.df and fdtrc(own.df, past.df, own.variance / past.variance) <= UNLIKE_P:
        return own
    df = own.df + past_df
    return Spread(
        variance=(own.variance * own.df + past.variance * past_df) / df, df=df,
        shaken=(own.shaken * own.df + past.shaken * past_df) / df, history_df=past_df,
        rests_on=DAYS_OF_OTHERS if of_others else DAYS_KNOWN,
    )  # fmt: skip
