"""No change that matters: two one-sided tests against the margin."""

from dataclasses import dataclass

from scipy.special import stdtr

from shiftlog.compare.estimate import Estimate


@dataclass(frozen=True, eq=False, kw_only=True)
class OneSided:
    """p that the difference lies below −margin or above it: the greater of the two counts."""

    lower: float
    upper: float

    @property
    def p(self) -> float:
        """Of both tests together."""
        return max(self.lower, self.upper)


def try_equivalence(estimate: Estimate, margin: float) -> OneSided | None:
    """Two one-sided t-tests (Schuirmann, J. Pharmacokin. Biopharm. 15, 1987); None where nothing spreads.

    At 5 % the answer is that of the 90 % interval lying inside ±margin.
    """
    if estimate.is_flat:
        return None
    lower = float(stdtr(estimate.df, -(estimate.difference + margin) / estimate.error))
    upper = float(stdtr(estimate.df, (estimate.difference - margin) / estimate.error))
    return OneSided(lower=lower, upper=upper)
