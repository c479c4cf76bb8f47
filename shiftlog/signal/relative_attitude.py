"""How one motion sensor lies to another that it moves against, over a whole recording at once.

The attitude at each node, the biases of both gyros and the twist are found together by Gauss and Newton: gyros tie
each node to the next, the force that both feel ties each to the other sensor, and what swings about two axes does
not twist about the third. Looking both ways in time is part of it.
"""

from dataclasses import dataclass

import numpy as np
from scipy import sparse
from scipy.sparse.linalg import splu
from scipy.spatial.transform import Rotation

from shiftlog.signal.attitude import attitude_at
from shiftlog.signal.motion_blocks import Blocks, Sensed
from shiftlog.signal.robust import robust_sigma

_KNOT_S = 30.0
"""A gyro's bias follows its temperature: it wanders over minutes."""
_BIAS_SIGMA, _BIAS_WANDER = np.deg2rad(3.0), np.deg2rad(0.15)
"""Bias of a cheap gyro [rad/s], and how far it wanders from knot to knot."""
_TWIST_SIGMA = np.deg2rad(5.0)
"""How far a lever twists about itself while it leans anyhow [rad]."""
_ARM_SIGMA_M = 0.7
"""How far apart the two sensors sit in a car."""
_OFFSET_SIGMA = 0.2
"""Zero error of a cheap accelerometer, one axis [m/s²]."""
_COMMON = 10
_LEAST_FORCE_SIGMA = 0.02
_HUBER = 2.0
_ROUNDS, _DONE_RAD = 12, 2e-5
_DRAWS = 12
_TOGETHER, _LEAST_FIT = 8, 0.25
"""Blocks looked at together; forces that agree better than this are luck."""


@dataclass(frozen=True, eq=False, kw_only=True)
class RelativeAttitude:
    """Attitudes (n) that carry inner axes into outer ones at the inner gyro's instants time_s (n,).

    tilt_u : standard uncertainty about an axis across ``upright``, a part common to all instants left out [rad]
    twist_u : standard uncertainty of the common turn about ``upright`` [rad]
    force_noise : spread of the difference of the two forces over a block while nothing moves [m/s²]
    upright (3,) : mean direction of the force, outer axes
    """

    time_s: np.ndarray
    attitude: Rotation
    tilt_u: float
    twist_u: float
    force_noise: float
    upright: np.ndarray


@dataclass(eq=False, kw_only=True)
class _State:
    """Attitude at each node (n), biases at the knots (k, 6) inner then outer [rad/s], and what is common to all:
    ``common`` (10,) zero errors of the forces, outer then inner [m/s²], way from outer to inner sensor [m], twist
    [rad]. The unknowns stand in this order. ``straight`` is the attitude without twist."""

    nodes: Rotation
    bias: np.ndarray
    common: np.ndarray
    straight: Rotation
    force_noise: float


def smooth_relative(
    blocks: Blocks, inner: Sensed, outer: Sensed, *, begin: np.ndarray, begin_u: float
) -> RelativeAttitude:
    """Relative attitude of two sensors from their blocks.

    begin : (3, 3) about what carries inner axes into outer ones; begin_u : how far off about the upright [rad]
    """
    upright = blocks.outer_force.mean(axis=0)
    upright = upright / np.linalg.norm(upright)
    knots = _knots(blocks.node_s)
    state = _State(
        nodes=Rotation.from_matrix(np.tile(begin, (blocks.node_s.size, 1, 1))), bias=np.zeros((knots.size, 6)),
        common=np.zeros(_COMMON), straight=Rotation.from_matrix(begin), force_noise=0.3,
    )  # fmt: skip
    for _ in range(_ROUNDS):
        jacobian, residual = _equations(state, blocks, knots, upright, begin_u)
        solver = splu((jacobian.T @ jacobian).tocsc())
        change = -solver.solve(jacobian.T @ residual)
        _apply(state, change, upright)
        state.force_noise = _force_noise(state, blocks)
        if np.max(np.abs(change[: 3 * blocks.node_s.size])) < _DONE_RAD:
            break
    tilt_u, twist_u = _spread(solver, jacobian, blocks, upright, begin_u)
    time_s, attitude = _fill_in(state, blocks, inner, outer)
    return RelativeAttitude(
        time_s=time_s, attitude=attitude, twist_u=twist_u, upright=upright,
        tilt_u=tilt_u * np.sqrt(_fit_of_forces(state, blocks, upright)), force_noise=state.force_noise,
    )  # fmt: skip


def _knots(node_s: np.ndarray) -> np.ndarray:
    return np.linspace(node_s[0], node_s[-1], max(int(round((node_s[-1] - node_s[0]) / _KNOT_S)), 1) + 1)


def _apply(state: _State, change: np.ndarray, upright: np.ndarray) -> None:
    count = len(state.nodes)
    state.nodes = Rotation.from_rotvec(change[: 3 * count].reshape(-1, 3)) * state.nodes
    state.bias = state.bias + change[3 * count : -_COMMON].reshape(-1, 6)
    state.common = state.common + change[-_COMMON:]
    state.straight = Rotation.from_rotvec(change[-1] * upright) * state.straight


def _equations(
    state: _State, blocks: Blocks, knots: np.ndarray, upright: np.ndarray, begin_u: float
) -> tuple[sparse.csr_array, np.ndarray]:
    """Jacobian and residuals of all equations, each over its standard uncertainty."""
    columns = 3 * blocks.node_s.size + 6 * knots.size + _COMMON
    parts = [
        _gyro_rows(state, blocks, knots, columns), _force_rows(state, blocks, columns),
        _twist_rows(state, upright, columns), _prior_rows(state, blocks.node_s.size, columns, begin_u),
    ]  # fmt: skip
    return sparse.vstack([p[0] for p in parts], format="csr"), np.concatenate([p[1] for p in parts])


def _place(blocks: list[tuple[np.ndarray, np.ndarray]], rows: int, columns: int) -> sparse.csr_array:
    """Dense pieces (b, r, c) put at the first columns (b,), piece b in rows b·r …"""
    values, at_row, at_column = [], [], []
    for piece, column in blocks:
        count, height, width = piece.shape
        r, c = np.meshgrid(np.arange(height), np.arange(width), indexing="ij")
        at_row.append((np.arange(count)[:, None, None] * height + r).ravel())
        at_column.append((column[:, None, None] + c).ravel())
        values.append(piece.ravel())
    where = (np.concatenate(at_row), np.concatenate(at_column))
    return sparse.csr_array(sparse.coo_array((np.concatenate(values), where), shape=(rows, columns)))


def _gyro_rows(state: _State, blocks: Blocks, knots: np.ndarray, columns: int) -> tuple[sparse.csr_array, np.ndarray]:
    first, count = blocks.first, blocks.node_s.size
    length = (blocks.node_s[first + 1] - blocks.node_s[first])[:, None, None]
    led = _led_on(state, blocks)
    between = state.nodes[first].as_matrix()
    weight = 1 / blocks.turn_sigma[:, None, None]
    knot, share = _knot_share(blocks, knots)
    lever = np.concatenate([between * length, -np.eye(3) * length], axis=2)
    bias = (1 - share)[:, None] * state.bias[knot] + share[:, None] * state.bias[knot + 1]
    missed = (state.nodes[first + 1] * led.inv()).as_rotvec() + np.einsum("bij,bj->bi", lever, bias)
    pieces = [
        (np.tile(np.eye(3), (first.size, 1, 1)) * weight, 3 * (first + 1)),
        (-blocks.outer_turn.inv().as_matrix() * weight, 3 * first),
        (lever * weight * (1 - share)[:, None, None], 3 * count + 6 * knot),
        (lever * weight * share[:, None, None], 3 * count + 6 * (knot + 1)),
    ]
    return _place(pieces, 3 * first.size, columns), (missed * weight[:, :, 0]).ravel()


def _led_on(state: _State, blocks: Blocks) -> Rotation:
    """Where the gyros alone lead from each block's first node, (b)."""
    return blocks.outer_turn.inv() * state.nodes[blocks.first] * blocks.inner_turn


def _knot_share(blocks: Blocks, knots: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    at_s = blocks.node_s[blocks.first]
    knot = np.clip(np.searchsorted(knots, at_s, side="right") - 1, 0, knots.size - 2)
    return knot, (at_s - knots[knot]) / (knots[knot + 1] - knots[knot])


def _force_rows(state: _State, blocks: Blocks, columns: int) -> tuple[sparse.csr_array, np.ndarray]:
    nodes = state.nodes[blocks.first]
    felt = nodes.apply(blocks.inner_force - state.common[3:6])
    missed = _missed_force(state, blocks)
    sigma = np.hypot(state.force_noise, blocks.force_sigma)
    size = np.linalg.norm(missed, axis=1) / sigma
    weight = np.sqrt(1 / np.maximum(size / _HUBER, 1.0)) / sigma
    pieces = [
        (-_cross(felt) * weight[:, None, None], 3 * blocks.first),
        (np.eye(3) * weight[:, None, None], np.full(weight.size, columns - 10)),
        (-nodes.as_matrix() * weight[:, None, None], np.full(weight.size, columns - 7)),
        (-blocks.outer_carry * weight[:, None, None], np.full(weight.size, columns - 4)),
    ]
    return _place(pieces, 3 * blocks.first.size, columns), (missed * weight[:, None]).ravel()


def _cross(vectors: np.ndarray) -> np.ndarray:
    """Matrices (b, 3, 3) that take the cross product with vectors (b, 3) from the left."""
    x, y, z = vectors.T
    zero = np.zeros_like(x)
    return np.stack([np.stack(row, axis=1) for row in ([zero, -z, y], [z, zero, -x], [-y, x, zero])], axis=1)


def _twist_rows(state: _State, upright: np.ndarray, columns: int) -> tuple[sparse.csr_array, np.ndarray]:
    away = (state.nodes * state.straight.inv()).as_rotvec() @ upright
    count = len(state.nodes)
    ones = np.full((count, 1, 1), 1 / _TWIST_SIGMA)
    pieces = [(ones * upright[None, None, :], 3 * np.arange(count)), (-ones, np.full(count, columns - 1))]
    return _place(pieces, count, columns), away / _TWIST_SIGMA


def _prior_rows(state: _State, nodes: int, columns: int, begin_u: float) -> tuple[sparse.csr_array, np.ndarray]:
    """Biases are small and wander slowly; the mean twist is about what the first fit had."""
    start, knots = 3 * nodes, len(state.bias)
    at = start + 6 * np.arange(knots)
    eye = np.tile(np.eye(6), (knots, 1, 1))
    own = _place([(eye / _BIAS_SIGMA, at)], 6 * knots, columns)
    step = _place([(eye[1:] / _BIAS_WANDER, at[1:]), (-eye[1:] / _BIAS_WANDER, at[:-1])], 6 * (knots - 1), columns)
    weight = 1 / np.repeat([_OFFSET_SIGMA, _ARM_SIGMA_M, begin_u], [6, 3, 1])
    rest = _place([(np.diag(weight)[None], np.array([columns - _COMMON]))], _COMMON, columns)
    values = [state.bias.ravel() / _BIAS_SIGMA, np.diff(state.bias, axis=0).ravel() / _BIAS_WANDER]
    return sparse.vstack([own, step, rest]), np.concatenate([*values, weight * state.common])


def _missed_force(state: _State, blocks: Blocks) -> np.ndarray:
    """By how much the two forces of each block differ, (b, 3) [m/s²]."""
    felt = state.nodes[blocks.first].apply(blocks.inner_force - state.common[3:6])
    carried = blocks.outer_carry @ state.common[6:9]
    return felt + state.common[:3] - carried - blocks.outer_force


def _force_noise(state: _State, blocks: Blocks) -> float:
    """Spread of the difference while neither the lever swings nor the body turns much."""
    calm = blocks.force_sigma <= max(np.median(blocks.force_sigma), _LEAST_FORCE_SIGMA)
    return max(float(np.max(robust_sigma(_missed_force(state, blocks)[calm]))), _LEAST_FORCE_SIGMA)


def _fit_of_forces(state: _State, blocks: Blocks, upright: np.ndarray) -> float:
    """Scatter of the level part of the force difference over two seconds, as a share of what was allowed for.

    Over so long differences with a memory (sensors apart on a body that turns, a late clock) show, noise does not.
    """
    seen = np.isfinite(blocks.force_sigma)
    missed = _missed_force(state, blocks)[seen]
    missed = missed - np.outer(missed @ upright, upright)
    share = missed / np.hypot(state.force_noise, blocks.force_sigma[seen])[:, None]
    count = len(share) // _TOGETHER
    if count < 10:
        return 1.0
    means = share[: count * _TOGETHER].reshape(count, _TOGETHER, 3).mean(axis=1)
    return max(float(np.sqrt(np.sum(robust_sigma(means) ** 2) / 2 * _TOGETHER)), _LEAST_FIT)


def _spread(
    solver: object, jacobian: sparse.csr_array, blocks: Blocks, upright: np.ndarray, begin_u: float
) -> tuple[float, float]:
    """Standard uncertainties from a dozen draws of what the equations leave open: across ``upright``, and about it."""
    count = blocks.node_s.size
    noise = np.random.default_rng(1).normal(0, 1, (jacobian.shape[0], _DRAWS))
    drawn = solver.solve(jacobian.T @ noise)[: 3 * count].T.reshape(_DRAWS, count, 3)
    twist = drawn @ upright
    across = drawn - twist[:, :, None] * upright
    across = across - across.mean(axis=1, keepdims=True)
    return float(np.sqrt(np.mean(np.sum(across**2, axis=2)) / 2)), _honest_twist(twist.mean(axis=1), count, begin_u)


def _honest_twist(twist: np.ndarray, count: int, begin_u: float) -> float:
    """Standard uncertainty of the common twist, less what a gyro's noise alone seems to tell of it.

    Noise turns each block a little, and the equations take that for motion: about one unit of information a block.
    """
    told = 1 / np.mean(twist**2) - 2 * count
    return float(1 / np.sqrt(max(told, 1 / begin_u**2)))


def _fill_in(state: _State, blocks: Blocks, inner: Sensed, outer: Sensed) -> tuple[np.ndarray, Rotation]:
    """The gyros' own way within each block, led from the one node and, in even steps, onto the next."""
    node_s, first = blocks.node_s, blocks.first
    block = np.searchsorted(node_s[first], inner.gyro_s, side="right") - 1
    inside = (block >= 0) & (inner.gyro_s <= node_s[first[block] + 1])
    block, time_s = block[inside], inner.gyro_s[inside]
    begin, end = node_s[first[block]], node_s[first[block] + 1]
    missed = (state.nodes[first + 1] * _led_on(state, blocks).inv()).as_rotvec()[block]
    outer_nodes = attitude_at(outer.gyro_s, blocks.outer_run, node_s[first])
    inner_nodes = attitude_at(inner.gyro_s, blocks.inner_run, node_s[first])
    drift = (outer_nodes * state.nodes[first] * inner_nodes.inv())[block]
    body = attitude_at(outer.gyro_s, blocks.outer_run, time_s)
    led = body.inv() * drift * blocks.inner_run[inside]
    share = ((time_s - begin) / (end - begin))[:, None]
    return time_s, Rotation.from_rotvec(share * missed) * led
