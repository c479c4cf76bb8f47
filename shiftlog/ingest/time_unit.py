"""The unit of a time column: where it names none, and where its numbers make sense in another one only."""

import numpy as np

from shiftlog.errors import UnclearLog
from shiftlog.ingest.units import Unit, find_unit

# From a slow GPS or OBD poll to the fastest accelerometer; from a short test to a working day.
_RATE_HZ = (0.2, 10000.0)
_DURATION_S = (1.0, 12 * 3600.0)
_EPOCH_S = (0.9e9, 2.5e9)
"""1998 to 2049 in seconds since 1970."""

_FASTEST_HZ = 60_000.0
"""Twice the rate of the fastest accelerometers on a chip, 26.7 kHz: more than this is no log, however long."""

_JUMP_STEPS = 10_000.0
"""A step this many times the usual one is a wrap or a hole, and no time in which rows came."""


def guess_time_units(time: np.ndarray) -> list[Unit]:
    """The units under which logged times (n,) make sense; exactly one where the numbers are plain.

    Times since 1970 tell by their size; counters tell by the rate and duration that each unit would mean. Whole
    numbers of more than one a sample are no seconds, and fractions are no micro- or nanoseconds. A counter may wrap.
    """
    finite, steps = _clean_steps(time)
    if steps.size == 0:
        return []
    units = [find_unit(name, ("time",)) for name in ("s", "ms", "us", "ns")]
    known = [unit for unit in units if unit is not None]
    since_1970 = [u for u in known if _EPOCH_S[0] < float(np.sort(finite)[finite.size // 2]) * u.factor < _EPOCH_S[1]]
    if since_1970:
        return since_1970
    return [unit for unit in known if _makes_sense(unit, finite, steps)]


def check_time_unit(time: np.ndarray, named: Unit, *, header: str, file: str) -> None:
    """UnclearLog where logged times (n,) make no sense in the unit named, and do in exactly one other.

    A slow poll, a long day and a short burst pass: only a rate and a duration that are both out of bounds are wrong.
    """
    finite, steps = _clean_steps(time)
    if steps.size == 0 or not _is_absurd(named, finite, steps):
        return
    units = guess_time_units(time)
    if len(units) != 1 or units[0].name == named.name:
        return
    (other,) = units
    raise UnclearLog(
        f"{file}, column {header}: in {named.name} it reads {_pace(named, finite, steps)}; as {other.name} its numbers "
        f"fit, {_pace(other, finite, steps)}. Name it under [recording.columns], such as "
        f'time = {{ column = "{header}", unit = "{other.name}" }}, or --unit "{header}={other.name}".'
    )


def _clean_steps(time: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The times that are numbers, and the lengths of the steps in which rows came."""
    finite = time[np.isfinite(time)]
    steps = np.abs(np.diff(finite))
    steps = steps[steps > 0]
    return finite, steps[steps <= _JUMP_STEPS * np.median(steps)] if steps.size else steps


def _is_absurd(unit: Unit, time: np.ndarray, steps: np.ndarray) -> bool:
    lasts_s = float(np.sum(steps)) * unit.factor
    rate_hz = time.size / lasts_s
    if rate_hz > _FASTEST_HZ or float(np.median(time)) * unit.factor > _EPOCH_S[1]:
        return True
    return not (_RATE_HZ[0] <= rate_hz <= _RATE_HZ[1] or _DURATION_S[0] <= lasts_s <= _DURATION_S[1])


def _pace(unit: Unit, time: np.ndarray, steps: np.ndarray) -> str:
    lasts_s = float(np.sum(steps)) * unit.factor
    return f"{time.size / lasts_s:.3g} rows a second for {lasts_s:.3g} s"


def _makes_sense(unit: Unit, time: np.ndarray, steps: np.ndarray) -> bool:
    lasts_s = float(np.sum(steps)) * unit.factor
    fraction = bool(np.any(time != np.round(time)))
    if unit.name in ("us", "ns") and fraction:
        return False
    if unit.name == "s" and not fraction and float(np.median(steps)) > 1:
        return False
    in_rate = _RATE_HZ[0] <= time.size / lasts_s <= _RATE_HZ[1]
    return in_rate and _DURATION_S[0] <= lasts_s <= _DURATION_S[1]
