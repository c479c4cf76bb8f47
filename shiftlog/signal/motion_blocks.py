"""Two motion sensors cut into blocks: how each turned within a block, and what force both felt over it."""

from dataclasses import dataclass

import numpy as np
from scipy.ndimage import uniform_filter1d
from scipy.spatial.transform import Rotation

from shiftlog.signal.attitude import attitude_at, run_on
from shiftlog.signal.robust import step_noise
from shiftlog.signal.rotate import nearest_rotation

BLOCK_S = 0.25
"""A gyro of the cheapest kind strays by some hundredths of a degree in this time: corrections need no finer steps."""

_LEAST_DENSITY = 3e-4
"""No gyro that is fitted to a lever is quieter than this over seconds [rad/s/√Hz]."""
_SCALE_SHARE = 0.01
"""Scale and cross-axis error of a cheap gyro, as a share of what it turned."""
_UNSEEN_RATE = 0.05
"""How fast a car pitches and rolls on a road while nobody looks, r.m.s. [rad/s]."""
_CLIPPED_RATE = 3.0
"""How far a rate may lie beyond the end of a gyro's range [rad/s]."""
_REACH_M = 0.3
"""A sensor sits this far up a lever at most."""
_ARM_M = 0.1
"""A car is no rigid body: how far the way from body sensor to lever may be off what fits the drive as a whole."""
_RATE_SMOOTH_S = 0.03
_ROUNDS = 8


@dataclass(frozen=True, eq=False, kw_only=True)
class Sensed:
    """What one motion sensor wrote, in its own axes.

    gyro_s (n,), rates (n, 3) [rad/s]; accel_s (m,), force (m, 3) [m/s²]; clipped (n,) samples at a gyro's limit
    """

    gyro_s: np.ndarray
    rates: np.ndarray
    accel_s: np.ndarray
    force: np.ndarray
    clipped: np.ndarray


@dataclass(frozen=True, eq=False, kw_only=True)
class Blocks:
    """Blocks between nodes; the outer sensor rides on the body, the inner one on what moves against it.

    node_s (n,); first (b,) index of the node each block begins at, its end is the next node
    outer_turn, inner_turn (b) turns over the block; outer_force, inner_force (b, 3) mean force in the axes that
    each sensor had as the block began [m/s²]; turn_sigma (b,) [rad], force_sigma (b,) [m/s²] beside what noise the
    residuals show, inf where nothing was sensed; outer_carry (b, 3, 3) times the way from the outer sensor to another
    place of the body is what that place feels more than the sensor [1/s²]; outer_run, inner_run (·) the attitudes the
    gyros alone lead to
    """

    node_s: np.ndarray
    first: np.ndarray
    outer_turn: Rotation
    inner_turn: Rotation
    outer_force: np.ndarray
    inner_force: np.ndarray
    turn_sigma: np.ndarray
    force_sigma: np.ndarray
    outer_carry: np.ndarray
    outer_run: Rotation
    inner_run: Rotation


def cut_blocks(outer: Sensed, inner: Sensed, spans: tuple[tuple[float, float], ...], fixed: np.ndarray) -> Blocks:
    """Blocks over stretches in which both sensors ran; ``fixed`` (3, 3) carries inner axes into outer ones, nearly."""
    nodes = [np.linspace(a, b, max(int(round((b - a) / BLOCK_S)), 1) + 1) for a, b in spans]
    node_s = np.concatenate(nodes)
    last = np.cumsum([n.size for n in nodes]) - 1
    first = np.setdiff1d(np.arange(node_s.size), last)
    runs = [run_on(sensed.gyro_s, sensed.rates) for sensed in (outer, inner)]
    at = [attitude_at(s.gyro_s, run, node_s) for s, run in zip((outer, inner), runs, strict=True)]
    turns = [q[first].inv() * q[first + 1] for q in at]
    forces = [_mean_force(s, run, q, node_s, first) for s, run, q in zip((outer, inner), runs, at, strict=True)]
    relative, lever_rate = _relative_rates(outer, inner, fixed)
    return Blocks(
        node_s=node_s, first=first, outer_turn=turns[0], inner_turn=turns[1], outer_force=forces[0],
        inner_force=forces[1], outer_run=runs[0], inner_run=runs[1],
        outer_carry=_carry(outer, node_s, first),
        turn_sigma=_turn_sigma(outer, inner, node_s, first, turns, lever_rate),
        force_sigma=_force_sigma(outer, inner, node_s, first, relative),
    )  # fmt: skip


def fit_fixed_turn(outer: Sensed, inner: Sensed, spans: tuple[tuple[float, float], ...]) -> np.ndarray:
    """Rotation (3, 3) from inner to outer axes that explains most of what both felt as if nothing moved between them.

    Gravity gives two of its three angles, braking, bends and the body's pitching and rolling the third.
    """
    edges = np.concatenate([np.arange(a, b + 1e-9, BLOCK_S) for a, b in spans])
    first = np.flatnonzero(np.diff(edges) < 1.5 * BLOCK_S)
    pairs = []
    for time, values, size in (("accel_s", "force", 0.5), ("gyro_s", "rates", 0.05)):
        means = [_block_means(getattr(s, time), getattr(s, values), edges, first) / size for s in (inner, outer)]
        pairs.append(means if values == "force" else [m - np.median(m, axis=0) for m in means])
    vectors, targets = (np.concatenate([pair[k] for pair in pairs]) for k in (0, 1))
    weights = np.ones(len(vectors))
    for _ in range(_ROUNDS):
        fixed = nearest_rotation((weights[:, None] * targets).T @ vectors)
        weights = 1 / np.maximum(np.linalg.norm(targets - vectors @ fixed.T, axis=1), 1.0)
    return fixed


def _block_means(time_s: np.ndarray, values: np.ndarray, edges: np.ndarray, first: np.ndarray) -> np.ndarray:
    sums = _integral_at(time_s, values, edges)
    return (sums[first + 1] - sums[first]) / (edges[first + 1] - edges[first])[:, None]


def _integral_at(time_s: np.ndarray, values: np.ndarray, at_s: np.ndarray) -> np.ndarray:
    """∫ values dt up to each instant, (m, k), by trapezia."""
    steps = 0.5 * (values[1:] + values[:-1]) * np.diff(time_s)[:, None]
    total = np.concatenate([np.zeros((1, values.shape[1])), np.cumsum(steps, axis=0)])
    return np.stack([np.interp(at_s, time_s, column) for column in total.T], axis=1)


def _mean_force(sensed: Sensed, run: Rotation, at_nodes: Rotation, node_s: np.ndarray, first: np.ndarray) -> np.ndarray:
    """Mean force over each block as felt in axes that stay as they were when it began."""
    held = attitude_at(sensed.gyro_s, run, sensed.accel_s).apply(sensed.force)
    return at_nodes[first].inv().apply(_block_means(sensed.accel_s, held, node_s, first))


def _relative_rates(outer: Sensed, inner: Sensed, fixed: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Turning of the inner sensor against the outer one at its own instants: smoothed (n, 3), and its size (n,)."""
    body = np.stack([np.interp(inner.gyro_s, outer.gyro_s, column) for column in outer.rates.T], axis=1)
    raw = inner.rates @ fixed.T - body
    raw = raw - np.median(raw, axis=0)
    relative = _smoothed(inner.gyro_s, raw)
    return relative, np.linalg.norm(relative, axis=1)


def _turn_sigma(
    outer: Sensed, inner: Sensed, node_s: np.ndarray, first: np.ndarray, turns: list[Rotation], relative: np.ndarray
) -> np.ndarray:
    """What the two gyros may be wrong by over each block [rad]: noise, scale, clipping, holes of the outer sensor."""
    length = node_s[first + 1] - node_s[first]
    density = np.hypot(*(_noise_density(s) for s in (outer, inner)))
    scale = _SCALE_SHARE * turns[0].magnitude()
    scale = np.hypot(scale, _SCALE_SHARE * _block_means(inner.gyro_s, relative[:, None], node_s, first)[:, 0] * length)
    clipped = sum(_share(s.gyro_s, s.clipped, node_s, first) for s in (outer, inner)) * length * _CLIPPED_RATE
    unseen = _unseen_s(outer.gyro_s, node_s, first) * _UNSEEN_RATE
    return np.sqrt(density**2 * length + scale**2 + clipped**2 + unseen**2)


def _noise_density(sensed: Sensed) -> float:
    step_s = float(np.median(np.diff(sensed.gyro_s)))
    noise = float(np.sqrt(np.mean([step_noise(column) ** 2 for column in sensed.rates.T])))
    return max(noise * np.sqrt(step_s), _LEAST_DENSITY)


def _share(time_s: np.ndarray, flags: np.ndarray, node_s: np.ndarray, first: np.ndarray) -> np.ndarray:
    return _block_means(time_s, flags[:, None].astype(float), node_s, first)[:, 0]


def _unseen_s(time_s: np.ndarray, node_s: np.ndarray, first: np.ndarray) -> np.ndarray:
    """How much of each block lies in holes of a recording [s]."""
    step = np.diff(time_s)
    hole = np.where(step > 3 * np.median(step), step, 0.0)
    total = np.concatenate([[0.0], np.cumsum(hole)])
    return np.diff(np.interp(node_s, time_s, total))[first]


def _force_sigma(
    outer: Sensed, inner: Sensed, node_s: np.ndarray, first: np.ndarray, relative: np.ndarray
) -> np.ndarray:
    """What keeps the two forces of a block apart though nothing tilted [m/s²]: the lever swings, the body turns."""
    length = node_s[first + 1] - node_s[first]
    swings = _swing(inner.gyro_s, relative, node_s, first, length) * _REACH_M
    leans = _swing(outer.gyro_s, outer.rates - np.median(outer.rates, axis=0), node_s, first, length) * _ARM_M
    unseen = sum(_unseen_s(s.accel_s, node_s, first) for s in (outer, inner)) > 0.3 * length
    return np.where(unseen, np.inf, np.hypot(swings, leans))


def _carry(outer: Sensed, node_s: np.ndarray, first: np.ndarray) -> np.ndarray:
    """Mean of α × r + ω × (ω × r) over each block as a matrix that takes r, (b, 3, 3)."""
    rates = _smoothed(outer.gyro_s, outer.rates - np.median(outer.rates, axis=0))
    at_nodes = np.stack([np.interp(node_s, outer.gyro_s, column) for column in rates.T], axis=1)
    speeding = (at_nodes[first + 1] - at_nodes[first]) / (node_s[first + 1] - node_s[first])[:, None]
    products = (rates[:, :, None] * rates[:, None, :]).reshape(-1, 9)
    squares = _block_means(outer.gyro_s, products, node_s, first).reshape(-1, 3, 3)
    inward = squares - np.trace(squares, axis1=1, axis2=2)[:, None, None] * np.eye(3)
    return np.cross(np.eye(3), speeding[:, None, :]) + inward


def _smoothed(time_s: np.ndarray, rates: np.ndarray) -> np.ndarray:
    count = max(int(_RATE_SMOOTH_S / float(np.median(np.diff(time_s)))), 1)
    return uniform_filter1d(rates, count, axis=0)


def _swing(
    time_s: np.ndarray, rates: np.ndarray, node_s: np.ndarray, first: np.ndarray, length: np.ndarray
) -> np.ndarray:
    """Mean acceleration of a point one metre off the axis over each block, along and towards it [m/s²]."""
    at_nodes = np.stack([np.interp(node_s, time_s, column) for column in rates.T], axis=1)
    along = np.linalg.norm(at_nodes[first + 1] - at_nodes[first], axis=1) / length
    towards = _block_means(time_s, np.sum(rates**2, axis=1)[:, None], node_s, first)[:, 0]
    return np.hypot(along, towards)
