"""The unit of a time column that names none, where its numbers leave one reading only."""

import numpy as np

from shiftlog.ingest.units import Unit, find_unit

# From a slow GPS or OBD poll to the fastest accelerometer; from a short test to a working day.
_RATE_HZ = (0.2, 10000.0)
_DURATION_S = (1.0, 12 * 3600.0)
_EPOCH_S = (0.9e9, 2.5e9)
"""1998 to 2049 in seconds since 1970."""


def guess_time_units(time: np.ndarray) -> list[Unit]:
    """The units under which logged times (n,) make sense; exactly one where the numbers are plain.

    Times since 1970 tell by their size; counters tell by the rate and duration that each unit would mean. Whole
    numbers of more than one a sample are no seconds, and fractions are no micro- or nanoseconds.
    """
    finite = time[np.isfinite(time)]
    steps = np.abs(np.diff(finite))
    steps = steps[steps > 0]
    if steps.size == 0:
        return []
    units = [find_unit(name, ("time",)) for name in ("s", "ms", "us", "ns")]
    known = [unit for unit in units if unit is not None]
    since_1970 = [u for u in known if _EPOCH_S[0] < float(np.median(finite)) * u.factor < _EPOCH_S[1]]
    if since_1970:
        return since_1970
    return [unit for unit in known if _makes_sense(unit, finite, steps)]


def _makes_sense(unit: Unit, time: np.ndarray, steps: np.ndarray) -> bool:
    rate = time.size / (float(np.ptp(time)) * unit.factor) if np.ptp(time) > 0 else 0.0
    fraction = bool(np.any(time != np.round(time)))
    if unit.name in ("us", "ns") and fraction:
        return False
    if unit.name == "s" and not fraction and float(np.median(steps)) > 1:
        return False
    in_rate = _RATE_HZ[0] <= rate <= _RATE_HZ[1]
    return in_rate and _DURATION_S[0] <= float(np.ptp(time)) * unit.factor <= _DURATION_S[1]
