"""How late a speed comes against the force that changes it, whichever way the sensor lies."""

from dataclasses import dataclass

import numpy as np

_DRAWS = 80
_SEED = 20268


@dataclass(frozen=True, eq=False, kw_only=True)
class ForceLag:
    """lag_s : speed as logged at t is that of t − lag_s; u_s : its standard uncertainty [s]; r : correlation there."""

    lag_s: float
    u_s: float
    r: float


def find_force_lag(
    force: np.ndarray, speed: np.ndarray, used: np.ndarray, step_s: float, *, lags_s: np.ndarray, block_s: float
) -> ForceLag | None:
    """The lag at which the slope of speed explains most of the force along one direction; None where there is no peak.

    force (m, 3) [m/s²], speed (m,) [m/s] on one even grid of ``step_s``; used (m,) : where both are known
    lags_s : (l,) lags to try, evenly spaced
    """
    slope = np.gradient(speed, step_s)
    block = (np.arange(used.size) * step_s / block_s).astype(int)
    flat = force - force[used].mean(axis=0)
    flat = np.where(used[:, None], np.clip(flat, *_bounds(flat[used])), 0.0)
    count = int(block[-1]) + 1
    parts = [_parts(flat, slope, used, block, round(lag / step_s), count) for lag in lags_s]
    cross, power = (np.array(p) for p in zip(*parts, strict=True))
    best = _peak(_explained(cross.sum(axis=1), power.sum(axis=1)), lags_s)
    if best is None:
        return None
    rng = np.random.default_rng(_SEED)
    draws = rng.multinomial(count, np.full(count, 1 / count), size=_DRAWS).astype(float)
    found = [_peak(_explained(np.einsum("b,lbk->lk", d, cross), power @ d), lags_s) for d in draws]
    kept = np.array([f for f in found if f is not None])
    if kept.size < 0.8 * _DRAWS:
        return None
    total = np.square(flat[used]).sum()
    top = float(_explained(cross.sum(axis=1), power.sum(axis=1)).max())
    return ForceLag(lag_s=best, u_s=float(np.std(kept)), r=float(np.sqrt(top / max(total, 1e-12))))


def _bounds(flat: np.ndarray) -> tuple[float, float]:
    """Six robust standard deviations to either side."""
    far = 6 * 1.4826 * float(np.median(np.abs(flat))) + 1.0
    return -far, far


def _parts(
    flat: np.ndarray, slope: np.ndarray, used: np.ndarray, block: np.ndarray, shift: int, count: int
) -> tuple[np.ndarray, np.ndarray]:
    """Cross sums (b, 3) and power (b,) of each block with the slope taken ``shift`` steps later."""
    moved, both = np.roll(slope, -shift), used & np.roll(used, -shift)
    if shift > 0:
        both[-shift:] = False
    elif shift < 0:
        both[:-shift] = False
    moved = np.where(both, moved, 0.0)
    cross = np.stack([np.bincount(block, weights=moved * column, minlength=count) for column in flat.T], axis=1)
    return cross, np.bincount(block, weights=np.square(moved), minlength=count)


def _explained(cross: np.ndarray, power: np.ndarray) -> np.ndarray:
    return np.square(cross).sum(axis=1) / np.maximum(power, 1e-12)


def _peak(explained: np.ndarray, lags_s: np.ndarray) -> float | None:
    """The lag at the highest value between the ends, by a parabola."""
    at = int(np.argmax(explained))
    if at in (0, explained.size - 1):
        return None
    left, top, right = explained[at - 1 : at + 2]
    bend = left - 2 * top + right
    return float(lags_s[at] + (0.5 * (left - right) / bend if bend < 0 else 0.0) * (lags_s[1] - lags_s[0]))
