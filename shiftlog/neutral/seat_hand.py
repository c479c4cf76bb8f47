"""Whether a hand is felt on a lever that lies in gear."""

import numpy as np
from scipy import signal

from shiftlog.model.lever import LeverPath

FELT, FREE, UNKNOWN = 1, 0, -1
TREMOR_HZ, BESIDE_HZ = (7.0, 13.0), (14.0, 20.0)
"""A resting hand trembles at 8 to 12 Hz (physiological tremor, common knowledge, no source); the band next to it tells
what road and engine do there."""
LEAST_RATE_HZ = 3 * BESIDE_HZ[1]
LEAST_S = 0.8
"""Shorter than this the two bands hold too few lines to be told apart."""
LEAST_RATIO, WANDER_CAP = 2.0, 4.0
"""Slow wander counts beside tremor, never for it: an engine on soft mounts wanders as well."""
FELT_PRODUCT, FREE_PRODUCT = 8.0, 4.0
"""Tremor above what lies beside its band, times wander above what noise gives. In ten synthesised drives one free
second in five hundred passed the first, and of those with a hand all but three in a hundred."""
LEAST_TREMOR_MM = 0.03
"""A hand trembles by no less (r.m.s., common practice, no source)."""
ROCK_MOST = 0.3
"""Of what the lever does along its slot an engine takes no greater share across it (common practice, no source)."""
TOO_COARSE = (
    "the lever's sensor is too coarse to feel a hand: it takes readings to {need:.2f} mm, and these are good for "
    "{have:.2f} mm"
)
TOO_SLOW = "a hand's tremor needs a lever logged at {need:.0f} Hz or more; this one has {have:.0f} Hz"


def why_no_hand(path: LeverPath) -> str | None:
    """Why a hand cannot be felt with this lever at all, or None where it can."""
    if path.rate_hz < LEAST_RATE_HZ:
        return TOO_SLOW.format(need=LEAST_RATE_HZ, have=path.rate_hz)
    if _band_noise(path) > LEAST_TREMOR_MM:
        need = LEAST_TREMOR_MM * path.noise_mm / _band_noise(path)
        return TOO_COARSE.format(need=need, have=path.noise_mm)
    return None


def feel_hand(path: LeverPath, start: int, stop: int) -> int:
    """``FELT``, ``FREE`` or ``UNKNOWN`` for index range [start, stop) of a lever that lies in gear.

    Across the gate, where torque moves the lever least: tremor above what lies beside its band, and slow wander. A hand
    that holds perfectly still is not felt.
    """
    if stop - start < LEAST_S * path.rate_hz or why_no_hand(path) is not None:
        return UNKNOWN
    ratio, tremor_mm = _tremor(path.select_mm[start:stop], path.rate_hz)
    product = ratio * min(_wander(path, start, stop), WANDER_CAP)
    if product > FELT_PRODUCT and ratio > LEAST_RATIO and tremor_mm > LEAST_TREMOR_MM:
        return FELT
    return FREE if product < FREE_PRODUCT or tremor_mm < LEAST_TREMOR_MM else UNKNOWN


def _band_noise(path: LeverPath) -> float:
    """What reading noise alone puts into the tremor band [mm r.m.s.]."""
    share = (TREMOR_HZ[1] - TREMOR_HZ[0]) / (path.rate_hz / 2)
    return float(path.noise_mm * np.sqrt(share))


def _tremor(values: np.ndarray, rate_hz: float) -> tuple[float, float]:
    """(power in the band over power beside it, r.m.s. in the band [mm])."""
    frequency, power = signal.periodogram(values, rate_hz, window="hann", detrend="linear")
    inside = (frequency >= TREMOR_HZ[0]) & (frequency <= TREMOR_HZ[1])
    beside = (frequency >= BESIDE_HZ[0]) & (frequency < BESIDE_HZ[1])
    floor = max(float(power[beside].mean()), 1e-12)
    return float(power[inside].mean()) / floor, float(np.sqrt(power[inside].sum() * frequency[1]))


def _wander(path: LeverPath, start: int, stop: int) -> float:
    """Spread of 0.2 s means across the gate over what reading noise alone gives, what goes with the slot left out."""
    block = max(int(0.2 * path.rate_hz), 1)
    count = (stop - start) // block
    across, along = (
        values[start : start + count * block].reshape(count, block).mean(axis=1)
        for values in (path.select_mm, path.engage_mm)
    )
    centred = along - along.mean()
    share = float(np.clip(centred @ across / max(centred @ centred, 1e-12), -ROCK_MOST, ROCK_MOST))
    spread = float((across - share * along).std())
    return spread / (max(path.noise_mm, 0.005) * np.sqrt(2 / block))
