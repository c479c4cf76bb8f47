"""A difference with what is known of its error, and Student's t on it."""

from dataclasses import dataclass
from math import sqrt

from scipy.special import fdtrc, stdtr, stdtrit

UNLIKE_P = 0.05
DAYS, DAYS_KNOWN, SHIFTS = "drives", "drives, and repeat drives of this workshop", "shifts"
TESTS = "repeats within a test"


@dataclass(frozen=True, eq=False, kw_only=True)
class Estimate:
    """Means of the drives' figures on each side and their difference (after − before).

    variance : of the difference; df : degrees of freedom of that variance
    drive_variance : of one drive's figure, shifts included; noise_variance : the part that more shifts would lower
    rests_on : what told the spread, ``DAYS`` | ``DAYS_KNOWN`` | ``SHIFTS`` | ``TESTS`` (of the last two how drives
        differ is not known)
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


def may_pool(own: float, own_df: int, past: float, past_df: int) -> bool:
    """Whether repeat drives may tell the spread: not where these drives differ far more than those did (F, 5 %)."""
    if past_df == 0 or past <= 0:
        return False
    return own_df == 0 or bool(fdtrc(own_df, past_df, own / past) > UNLIKE_P)
