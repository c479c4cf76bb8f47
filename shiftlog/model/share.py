"""k of n, with what it allows."""

from dataclasses import dataclass


@dataclass(frozen=True, eq=False, kw_only=True)
class Share:
    """k of n with its 95 % Clopper-Pearson interval.

    if_unknown_counted : the range of k/n if every rest of unknown release counted, or None
    """

    k: int
    n: int
    low: float
    high: float
    if_unknown_counted: tuple[float, float] | None = None
