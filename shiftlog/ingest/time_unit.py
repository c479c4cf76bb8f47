"""The unit of a time column that names none, where its numbers leave one reading only."""

import numpy as np

from shiftlog.ingest.units import Unit, find_unit

# From a slow GPS or OBD poll to the fastest accelerometer; from a short test to a working day.
_RATE_HZ = (0.2, 10000.0)
_DURATION_S = (1.0, 12 * 3600.0)
_EPOCH_S = (0.9e9, 2.5e9)
"""1998 to 2049 in seconds since 1970."""

_JUMP_STEPS = 10_000.0
"""A step this many times the usual one is a wrap or a hole, and no time in which rows came."""


def guess_time_units(time: np.ndarray) -> list[Unit]:
    """The units under which logged times (n,) make sense; exactly one where the numbers are plain.

    Times since 1970 tell by their size; counters tell by the rate and duration that each unit would mean. Whole
    numbers of more than one a sample are no seconds, and fractions are no micro- or nanoseconds. A counter may wrap.
    """
    finite = time[np.isfinite(time)]
    steps = np.abs(np.diff(finite))
    steps = steps[steps > 0]
    steps = steps[steps <= _JUMP_STEPS * np.median(steps)] if steps.size else steps
    if steps.size == 0:
        return []
    units = [find_unit(name, ("time",)) for name in ("s", "ms", "us", "ns")]
    known = [unit for unit in units if unit is not None]
    since_1970 = [u for u in known if _EPOCH_S[0] < float(np.sort(finite)[finite.size // 2]) * u.factor < _EPOCH_S[1]]
    if since_1970:
        return since_1970
    return [unit for unit in known if _makes_sense(unit, finite, steps)]


def _makes_sense(unit: Unit, time: np.ndarray, steps: np.ndarray) -> bool:
    lasts_s = float(np.sum(steps)) * unit.factor
    fraction = bool(np.any(time != np.round(time)))
    if unit.name in ("us", "ns") and fraction:
        return False
    if unit.name == "s" and not fraction and float(np.median(steps)) > 1:
        return False
    in_rate = _RATE_HZ[0] <= time.size / lasts_s <= _RATE_HZ[1]
    return in_rate and _DURATION_S[0] <= lasts_s <= _DURATION_S[1]
