"""How likely counts are by chance: each with the smallest probability that such counts could have had."""

from math import comb

from scipy.stats import binom, hypergeom


def more_often(k: int, n: int, k_others: int, n_others: int) -> tuple[float, float]:
    """(p, least p) of k of n against k of n others, one-sided (Fisher's exact test)."""
    whole, with_it = n + n_others, k + k_others
    chance = hypergeom(whole, with_it, n)
    return float(chance.sf(k - 1)), float(chance.pmf(min(with_it, n)))


def more_than_usual(k: int, n: int, usual: float) -> tuple[float, float]:
    """(p, least p) of k of n where a share of ``usual`` is none to speak of, one-sided (binomial)."""
    return float(binom.sf(k - 1, n, usual)), usual**n if n else 1.0


def least_of_ranks(n: int, n_others: int) -> float:
    """The smallest p of a rank sum test: all of the one above all of the others."""
    return 1.0 / comb(n + n_others, n)
