"""Where the rates of a gyro lead to: attitudes as ``scipy.spatial.transform.Rotation``."""

import numpy as np
from scipy.spatial.transform import Rotation, Slerp

_CHUNK = 256
"""Turns multiplied one after the other, whole rows of such chunks at once."""


def run_on(time_s: np.ndarray, rates: np.ndarray) -> Rotation:
    """Attitudes (n) that body rates (n, 3) [rad/s] at times (n,) lead to, from no turn at the first.

    Between two samples the rate runs straight; the second term is what two turns about different axes leave over
    (coning, to second order).
    """
    step = np.diff(time_s)[:, None]
    first, second = rates[:-1], rates[1:]
    turns = 0.5 * (first + second) * step + np.cross(first, second) * step**2 / 12
    return _running_product(Rotation.from_rotvec(np.concatenate([np.zeros((1, 3)), turns])))


def attitude_at(time_s: np.ndarray, attitudes: Rotation, at_s: np.ndarray) -> Rotation:
    """Attitudes at instants (m,), by even turning between the samples (n,); held beyond the ends."""
    return Slerp(time_s, attitudes)(np.clip(at_s, time_s[0], time_s[-1]))


def _running_product(turns: Rotation) -> Rotation:
    """q0, q0 q1, q0 q1 q2, … of n turns."""
    count = len(turns)
    if count <= 1:
        return turns
    size = min(_CHUNK, int(np.ceil(np.sqrt(count))))
    rows = -(-count // size)
    padded = Rotation.concatenate([turns, Rotation.identity(rows * size - count)])
    columns = [padded[0::size]]
    for k in range(1, size):
        columns.append(columns[-1] * padded[k::size])
    before = Rotation.concatenate([Rotation.identity(1), _running_product(columns[-1][:-1])])
    led = Rotation.concatenate([before * column for column in columns])
    return led[np.arange(rows * size).reshape(size, rows).T.ravel()[:count]]
