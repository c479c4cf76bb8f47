"""What it would take to settle an unclear row: more drives, or more shifts in each."""

from dataclasses import dataclass
from math import sqrt

from shiftlog.compare.estimate import Estimate, find_t

POWER = 0.8
# Beyond this nobody drives: the setup cannot settle it.
MOST_DRIVES = 30
# Times the shifts of each kind in a drive; beyond it a drive is no longer one.
MOST_SHIFTS = 5


@dataclass(frozen=True, eq=False, kw_only=True)
class Need:
    """What would settle a row in four cases of five.

    more_drives : a side, or None where ``MOST_DRIVES`` are not enough; times_shifts : as many shifts a drive, or None
    """

    more_drives: int | None
    times_shifts: int | None


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


def _settles(n: int, variance: float, room: float, tail: float, estimate: Estimate) -> bool:
    df = 2 * n - 2 + estimate.history_df
    return (find_t(df, 1 - tail) + find_t(df, POWER)) * sqrt(2 * variance / n) <= room
