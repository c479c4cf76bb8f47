"""What is struck anew: one blow is not, teeth that strike unevenly are."""

from types import SimpleNamespace

import numpy as np
import pytest

from shiftlog.measure.ringing import USUAL_KEPT, learn_ringing, struck_anew

HOP, KEPT, SLOWEST = 5, 0.7, 0.8
"""Windows of 10 ms every 5 ms; a casing keeps 0.7 of its power from one to the next, 0.8 where it rings longest."""


def loudness(strikes_ms: np.ndarray, sizes: np.ndarray) -> np.ndarray:
    """Power (1, 60) in windows 5 ms apart of blows that ring, each heard in the windows that overlap it."""
    at_ms = HOP * np.arange(60)[:, None]
    since = (at_ms - strikes_ms[None, :]) / HOP
    rings = np.where(since >= 0, KEPT ** np.maximum(since, 0), np.where(since > -1, 0.5, 0.0))
    return 1.0 + (rings * sizes**2).sum(axis=1)[None, :]


def longest_anew(power: np.ndarray, *, over: float, kept: float = KEPT) -> int:
    """Windows side by side in which what is struck anew stands so far over the usual."""
    loud = struck_anew(power, np.ones_like(power), np.array([kept])) > over
    edges = np.flatnonzero(np.diff(np.concatenate([[0], loud.astype(int), [0]])))
    return int(max(edges[1::2] - edges[::2], default=0))


def test_one_blow_is_not_struck_anew_however_hard() -> None:
    power = loudness(np.array([100.0]), np.array([30.0]))
    assert longest_anew(power, over=4.0) == longest_anew(power, over=4.0, kept=SLOWEST) == 0


def test_teeth_that_strike_unevenly_are_struck_anew_as_long_as_they_do() -> None:
    """Every 8 ms for 100 ms, of widely scattered size: after a hard one it is quieter for a while."""
    lasted = []
    for seed in range(40):
        rng = np.random.default_rng(seed)
        strikes_ms = np.arange(100, 200, 8.0)
        power = loudness(strikes_ms, 6 * rng.lognormal(0, 0.9, strikes_ms.size))
        lasted.append(longest_anew(power, over=4.0, kept=SLOWEST))
    assert np.mean(np.array(lasted) >= 8) >= 0.9


def test_a_sensor_that_is_silent_after_a_blow_tells_nothing_of_ringing() -> None:
    power = np.zeros((60, 1))
    power[20] = 1e20
    sound = SimpleNamespace(parts=power, between=lambda first_s, last_s: slice(0, 60))
    scene = SimpleNamespace(shifts=[SimpleNamespace(end_s=1.0)] * 6)
    assert learn_ringing(sound, np.zeros((1, 60)), scene) == pytest.approx([USUAL_KEPT])
