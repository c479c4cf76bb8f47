"""What it would take to settle an unclear row: more drives, or more shifts in each."""

from dataclasses import dataclass
from math import ceil, sqrt

from scipy.special import ndtri

from shiftlog.compare.estimate import Estimate, find_t
from shiftlog.compare.shares import Counted, find_newcombe
from shiftlog.model.comparison import TESTS

POWER = 0.8
# Beyond this nobody drives: the setup cannot settle it.
MOST_DRIVES = 30
# Times the shifts of each kind in a drive; beyond it a drive is no longer one.
MOST_SHIFTS = 5
# Tries of one marked test a side; nobody lets go more often.
MOST_TRIES = 200


@dataclass(frozen=True, eq=False, kw_only=True)
class Need:
    """What would settle a row in four cases of five.

    more_drives : a side, or None where ``MOST_DRIVES`` are not enough; times_shifts : as many shifts a drive (or
        repeats a test), or None
    tries : in all, a side, of one marked test, or None where ``MOST_TRIES`` are not enough
    of : ``drives``, ``repeats`` or ``tries``: what there may be more of
    """

    more_drives: int | None = None
    times_shifts: int | None = None
    tries: int | None = None
    of: str = "drives"


def find_need(estimate: Estimate, drives: tuple[int, int], *, margin: float | None, alpha: float) -> Need | None:
    """How much more would settle it, if what was seen is the truth; None where no spread is known.

    A difference beyond the margin is settled by showing it, a smaller one by showing that it lies inside.
    alpha : level at which this row would count, after the page's correction
    """
    size = abs(estimate.difference)
    inside = margin is not None and size < margin
    room = margin - size if inside else size
    if estimate.is_flat or room <= 0:
        return None
    tail = 0.05 if inside else alpha / 2
    if estimate.rests_on == TESTS:
        return Need(times_shifts=_count_repeats(estimate, room, tail), of="repeats")
    noise = min(estimate.noise_variance, estimate.drive_variance)
    days = estimate.drive_variance - noise
    now = min(drives)
    enough = next(
        (n for n in range(max(now, 2), MOST_DRIVES + 1) if _settles(n, days + noise, room, tail, estimate)), None
    )
    times = next(
        (q for q in range(2, MOST_SHIFTS + 1) if _settles(max(now, 2), days + noise / q, room, tail, estimate)), None
    )  # fmt: skip
    return Need(more_drives=None if enough is None else max(enough - now, 1), times_shifts=times)


def _count_repeats(estimate: Estimate, room: float, tail: float) -> int | None:
    """Times as many repeats within each test, as far as their scatter is what leaves it open."""
    for times in range(2, MOST_SHIFTS + 1):
        reach = (find_t(estimate.df * times, 1 - tail) + find_t(estimate.df * times, POWER)) * estimate.error
        if reach / sqrt(times) <= room:
            return times
    return None


def find_tries(counted: Counted, *, margin: float | None, alpha: float) -> Need | None:
    """How many tries of a marked test a side would settle it, if the shares seen are the true ones."""
    size = abs(counted.difference)
    if margin is not None and size < margin:
        settled = (n for n in range(counted.least, MOST_TRIES + 1) if _is_inside(counted, n, margin))
        return Need(tries=next(settled, None), of="tries")
    if size == 0:
        return None
    tries = _count_tries(counted.before.k / counted.before.n, counted.after.k / counted.after.n, alpha)
    return Need(tries=max(tries, counted.least + 1) if tries <= MOST_TRIES else None, of="tries")


def _is_inside(counted: Counted, n: int, margin: float) -> bool:
    sides = ((round(n * share.k / share.n), n) for share in (counted.before, counted.after))
    low, high = find_newcombe(*sides, confidence=0.90)
    return -margin < low and high < margin


def _count_tries(before: float, after: float, alpha: float) -> int:
    """A side, for Fisher's exact test (Casagrande, Pike and Smith, Biometrics 34, 1978, from memory)."""
    size, both = abs(after - before), (before + after) / 2
    apart = ndtri(1 - alpha / 2) * sqrt(2 * both * (1 - both))
    within = ndtri(POWER) * sqrt(before * (1 - before) + after * (1 - after))
    plain = ((apart + within) / size) ** 2
    return ceil(plain / 4 * (1 + sqrt(1 + 4 / (plain * size))) ** 2)


def _settles(n: int, variance: float, room: float, tail: float, estimate: Estimate) -> bool:
    df = 2 * n - 2 + estimate.history_df
    return (find_t(df, 1 - tail) + find_t(df, POWER)) * sqrt(2 * variance / n) <= room
