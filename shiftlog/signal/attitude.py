"""Attitudes as unit quaternions (w, x, y, z), one a row: q turns v into q v q*; gyro rates run them on."""

import numpy as np

_CHUNK = 256
"""Samples multiplied one after the other, whole rows of such chunks at once."""


def multiply(left: np.ndarray, right: np.ndarray) -> np.ndarray:
    """Products of quaternions, (…, 4) each: first ``right`` turns, then ``left``."""
    w, v = left[..., :1], left[..., 1:]
    x, u = right[..., :1], right[..., 1:]
    scalar = w * x - np.sum(v * u, axis=-1, keepdims=True)
    return np.concatenate([scalar, w * u + x * v + np.cross(v, u)], axis=-1)


def inverse(quaternions: np.ndarray) -> np.ndarray:
    """The turns back, (…, 4)."""
    return quaternions * np.array([1.0, -1.0, -1.0, -1.0])


def from_vector(vectors: np.ndarray) -> np.ndarray:
    """Rotation vectors (…, 3) [rad] as quaternions (…, 4)."""
    half = 0.5 * np.linalg.norm(vectors, axis=-1, keepdims=True)
    return np.concatenate([np.cos(half), 0.5 * vectors * np.sinc(half / np.pi)], axis=-1)


def to_vector(quaternions: np.ndarray) -> np.ndarray:
    """Quaternions (…, 4) as rotation vectors (…, 3) [rad] of at most half a turn."""
    near = np.where(quaternions[..., :1] < 0, -quaternions, quaternions)
    size = np.linalg.norm(near[..., 1:], axis=-1, keepdims=True)
    angle = 2 * np.arctan2(size, near[..., :1])
    return near[..., 1:] * np.where(size > 1e-12, angle / np.maximum(size, 1e-12), 2.0)


def turn(quaternions: np.ndarray, vectors: np.ndarray) -> np.ndarray:
    """Vectors (…, 3) turned by quaternions (…, 4)."""
    w, v = quaternions[..., :1], quaternions[..., 1:]
    twice = 2 * np.cross(v, vectors)
    return vectors + w * twice + np.cross(v, twice)


def to_matrix(quaternions: np.ndarray) -> np.ndarray:
    """Rotation matrices (…, 3, 3) of quaternions (…, 4)."""
    w, x, y, z = np.moveaxis(quaternions, -1, 0)
    rows = [
        [1 - 2 * (y * y + z * z), 2 * (x * y - w * z), 2 * (x * z + w * y)],
        [2 * (x * y + w * z), 1 - 2 * (x * x + z * z), 2 * (y * z - w * x)],
        [2 * (x * z - w * y), 2 * (y * z + w * x), 1 - 2 * (x * x + y * y)],
    ]
    return np.stack([np.stack(row, axis=-1) for row in rows], axis=-2)


def from_matrix(matrix: np.ndarray) -> np.ndarray:
    """Quaternion (4,) of one rotation matrix (3, 3), by the largest of its four parts (Shepperd, 1978; from memory)."""
    m = matrix
    squares = np.array([np.trace(m), m[0, 0], m[1, 1], m[2, 2]])
    most = int(np.argmax(squares))
    if most == 0:
        q = np.array([1 + np.trace(m), m[2, 1] - m[1, 2], m[0, 2] - m[2, 0], m[1, 0] - m[0, 1]])
    else:
        i, j, k = most - 1, most % 3, (most + 1) % 3
        q = np.empty(4)
        q[0], q[1 + i] = m[k, j] - m[j, k], 1 + m[i, i] - m[j, j] - m[k, k]
        q[1 + j], q[1 + k] = m[j, i] + m[i, j], m[k, i] + m[i, k]
    return q / np.linalg.norm(q)


def mean_attitude(quaternions: np.ndarray) -> np.ndarray:
    """The attitude (4,) with the least sum of squared chords to all (n, 4) (Markley et al., 2007; from memory)."""
    return np.linalg.eigh(quaternions.T @ quaternions)[1][:, -1]


def run_on(time_s: np.ndarray, rates: np.ndarray) -> np.ndarray:
    """Attitudes (n, 4) that body rates (n, 3) [rad/s] at times (n,) lead to, from no turn at the first.

    Between two samples the rate runs straight; the second term is what two turns about different axes leave over
    (coning, to second order).
    """
    step = np.diff(time_s)[:, None]
    first, second = rates[:-1], rates[1:]
    turns = 0.5 * (first + second) * step + np.cross(first, second) * step**2 / 12
    return np.concatenate([np.array([[1.0, 0, 0, 0]]), _running_product(from_vector(turns))])


def _running_product(turns: np.ndarray) -> np.ndarray:
    """q0, q0 q1, q0 q1 q2, … for (n, 4)."""
    count = len(turns)
    if count <= 1:
        return turns
    size = min(_CHUNK, int(np.ceil(np.sqrt(count))))
    rows = -(-count // size)
    grid = np.zeros((rows * size, 4))
    grid[:, 0] = 1.0
    grid[:count] = turns
    grid = grid.reshape(rows, size, 4)
    for k in range(1, size):
        grid[:, k] = multiply(grid[:, k - 1], grid[:, k])
    before = _running_product(grid[:-1, -1]) if rows > 1 else np.empty((0, 4))
    grid[1:] = multiply(before[:, None, :], grid[1:])
    flat = grid.reshape(-1, 4)[:count]
    return flat / np.linalg.norm(flat, axis=1, keepdims=True)


def attitude_at(time_s: np.ndarray, attitudes: np.ndarray, at_s: np.ndarray) -> np.ndarray:
    """Attitudes (m, 4) at instants (m,), by even turning between the samples (n,), (n, 4); held beyond the ends."""
    after = np.clip(np.searchsorted(time_s, at_s), 1, time_s.size - 1)
    first, second = attitudes[after - 1], attitudes[after]
    share = np.clip((at_s - time_s[after - 1]) / (time_s[after] - time_s[after - 1]), 0.0, 1.0)
    return multiply(first, from_vector(share[:, None] * to_vector(multiply(inverse(first), second))))


def fit_turn(vectors: np.ndarray, targets: np.ndarray, weights: np.ndarray) -> np.ndarray:
    """Rotation (3, 3) that carries vectors (n, 3) onto targets (n, 3) best, each pair with its weight (n,).

    Least squares by the singular value decomposition (Kabsch, Acta Cryst. A32, 1976; Wahba's problem).
    """
    left, _, right = np.linalg.svd((weights[:, None] * targets).T @ vectors)
    return left @ np.diag([1.0, 1.0, np.sign(np.linalg.det(left @ right))]) @ right
