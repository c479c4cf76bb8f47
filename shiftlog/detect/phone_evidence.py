"""What the body feels of a change of gear: steps of longitudinal acceleration, and how far the road explains them."""

from dataclasses import dataclass

import numpy as np
from scipy.ndimage import binary_dilation

from shiftlog.model.trace import Trace
from shiftlog.signal.filter import band_pass, low_pass
from shiftlog.signal.resample import resample_evenly

GRID_HZ = 50.0
"""All that counts lies below 8 Hz; the grid is fine enough to place a step to 20 ms."""

SLOW_HZ, ORDER = 3.0, 2
"""The low-pass of the drive gap."""

ROAD_HZ = (0.7, 3.0)
"""The band in which the body's own bounce and pitch look like a step of drive."""

SHUFFLE_HZ = (2.0, 8.0)
"""The driveline swings here after the drive is taken up."""

STEP_S, STEP_GUARD_S = 0.3, 0.04
"""A step is the mean over this long after, less that before, leaving the change itself out."""

NEAR_S = 1.5
"""The road is judged over this long on both sides: a bump's own length and its echo."""

SHORTEST_SPAN_S = 4.0
"""A stretch of data must hold levels before and after, and let the filters settle."""

STEADY_SHARE = 0.25
"""At least this share of driving is steady, so that what shakes along the car then is the road."""

FLOOR_MPS2 = 0.02
"""The least noise assumed: a phone's own."""

BLOW_MPS2 = 4.0
"""Below this a wheel has met no pothole: a rough road shakes a body by 1 to 3 m/s² (common practice, no source)."""

BRIDGE_S = 0.06
"""A blow is taken to be felt this long before and after it exceeds that: half a swing of a wheel that hops at 8 Hz."""

HARD_HZ = 5.0
"""A pothole's blow lies above this; heave over a crest and a loaded spring below."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Felt:
    """One stretch of data on an even grid of ``GRID_HZ``, all (n,).

    slow : longitudinal acceleration below 3 Hz, less the drive's mean; step : its step about each instant [m/s²]
    quick : as ``slow``, below 8 Hz
    road, road_shuffle : standard deviation the road gives longitudinal acceleration in its two bands [m/s²]
    shuffle : longitudinal acceleration from 2 to 8 Hz; sideways : below 3 Hz; shock : vertical, 2 to 8 Hz [m/s²]
    calm : as ``slow``, with what was felt about each blow from the road left out and bridged by a straight line [m/s²]
    """

    time_s: np.ndarray
    slow: np.ndarray
    quick: np.ndarray
    step: np.ndarray
    road: np.ndarray
    shuffle: np.ndarray
    road_shuffle: np.ndarray
    sideways: np.ndarray
    shock: np.ndarray
    calm: np.ndarray


def build_felt(body: Trace) -> tuple[Felt, ...]:
    """The stretches of data long enough to judge.

    body : (n, 3) in vehicle axes, gravity included [m/s²]. The drive's mean is taken off: over a drive speed comes
    back to where it was, so what is left is the sensor's bias and a mounting that leans.
    """
    cuts = [_cut(body, span) for span in body.spans if span[1] - span[0] >= SHORTEST_SPAN_S]
    if not cuts:
        return ()
    mean = np.mean(np.concatenate([cut[1][:, 0] for cut in cuts]))
    bands = [_Bands.of(cut) for cut in cuts]
    share, share_shuffle = (_road_share(bands, name) for name in ("road", "shuffle"))
    return tuple(_felt(cut, band, mean, share, share_shuffle) for cut, band in zip(cuts, bands, strict=True))


@dataclass(frozen=True, eq=False, kw_only=True)
class _Bands:
    """Both bands, (n, 3)."""

    road: np.ndarray
    shuffle: np.ndarray

    @staticmethod
    def of(cut: tuple[np.ndarray, np.ndarray, float]) -> "_Bands":
        _, even, rate_hz = cut
        top = min(SHUFFLE_HZ[1], 0.45 * rate_hz)
        return _Bands(
            road=_thin(band_pass(even, rate_hz, *ROAD_HZ, order=ORDER), rate_hz),
            shuffle=_thin(band_pass(even, rate_hz, SHUFFLE_HZ[0], top, order=ORDER), rate_hz),
        )


def _cut(body: Trace, span: tuple[float, float]) -> tuple[np.ndarray, np.ndarray, float]:
    """Times, values (n, 3) and rate of an even grid whose rate is a whole multiple of ``GRID_HZ``."""
    rate_hz = GRID_HZ * max(1, int(np.ceil(body.rate_hz / GRID_HZ - 0.1)))
    near = slice(*np.searchsorted(body.time_s, (span[0], span[1] + 1e-9)))
    time_s, even = resample_evenly(
        body.time_s[near], body.values[near], rate_hz=rate_hz, start_s=span[0], end_s=span[1]
    )
    return time_s, even, rate_hz


def _thin(values: np.ndarray, rate_hz: float) -> np.ndarray:
    return values[:: round(rate_hz / GRID_HZ)]


def _road_share(bands: list[_Bands], name: str) -> float:
    """How much of vertical shaking the road gives along the car: the ratio's lower quartile, where drive is steady.

    A mounting that leans, and the car's own pitch, are in it.
    """
    along = np.concatenate([_level(getattr(b, name)[:, 0]) for b in bands])
    up = np.concatenate([_level(getattr(b, name)[:, 2]) for b in bands])
    moving = up > max(0.3 * float(np.median(up)), FLOOR_MPS2)
    return float(np.quantile(along[moving] / up[moving], STEADY_SHARE)) if moving.any() else 0.0


def _level(values: np.ndarray) -> np.ndarray:
    """Root mean square about each instant, (n,)."""
    return np.sqrt(_mean_about(values**2, NEAR_S))


def _mean_about(values: np.ndarray, half_s: float) -> np.ndarray:
    sums = np.concatenate(([0.0], np.cumsum(values)))
    half = round(half_s * GRID_HZ)
    index = np.arange(values.size)
    first, last = np.maximum(index - half, 0), np.minimum(index + half + 1, values.size)
    return np.maximum((sums[last] - sums[first]) / (last - first), 0.0)


def _felt(
    cut: tuple[np.ndarray, np.ndarray, float], bands: _Bands, mean: float, share: float, share_shuffle: float
) -> Felt:
    time_s, even, rate_hz = cut
    slow = _thin(low_pass(even, rate_hz, SLOW_HZ, order=ORDER), rate_hz)
    along = slow[:, 0] - mean
    calm = low_pass(_without_blows(even, rate_hz), rate_hz, SLOW_HZ, order=ORDER)
    return Felt(
        time_s=_thin(time_s, rate_hz),
        slow=along,
        quick=_thin(low_pass(even[:, 0], rate_hz, min(SHUFFLE_HZ[1], 0.45 * rate_hz), order=ORDER), rate_hz) - mean,
        step=_step(along),
        road=np.hypot(FLOOR_MPS2, share * _level(bands.road[:, 2])),
        shuffle=bands.shuffle[:, 0],
        road_shuffle=np.hypot(FLOOR_MPS2, share_shuffle * _level(bands.shuffle[:, 2])),
        sideways=slow[:, 1],
        shock=bands.shuffle[:, 2],
        calm=_thin(calm, rate_hz) - mean,
    )


def _without_blows(even: np.ndarray, rate_hz: float) -> np.ndarray:
    """Longitudinal acceleration of (n, 3), a straight line in place of what was felt about each blow, (n,)."""
    along, up = even[:, 0], even[:, 2]
    hard = np.abs(up - low_pass(up, rate_hz, min(HARD_HZ, 0.4 * rate_hz), order=ORDER))
    struck = hard > BLOW_MPS2
    kept = ~binary_dilation(struck, iterations=round(BRIDGE_S * rate_hz))
    if not struck.any() or not kept.any():
        return along
    index = np.arange(along.size)
    return np.interp(index, index[kept], along[kept])


def _step(values: np.ndarray) -> np.ndarray:
    """Mean after less mean before, about each instant, (n,); 0 near the ends."""
    length, guard = round(STEP_S * GRID_HZ), round(STEP_GUARD_S * GRID_HZ)
    sums = np.concatenate(([0.0], np.cumsum(values)))
    means = (sums[length:] - sums[:-length]) / length
    step = np.zeros(values.size)
    inner = np.arange(length + guard, values.size - length - guard)
    step[inner] = means[inner + guard] - means[inner - guard - length]
    return step
