"""The rotation that three measured axes agree on, each with its own doubt in each direction."""

from dataclasses import dataclass

import numpy as np

from shiftlog.signal.rotate import nearest_rotation

_ROUNDS = 6
_PAIRS = tuple((i, j) for i in range(3) for j in range(3) if i != j)
_LEVI = np.zeros((3, 3, 3))
for _a, _b, _c in ((0, 1, 2), (1, 2, 0), (2, 0, 1)):
    _LEVI[_a, _b, _c], _LEVI[_b, _a, _c] = 1.0, -1.0


@dataclass(frozen=True, eq=False, kw_only=True)
class Turn:
    """rotation (3, 3) sensor → vehicle; covariance (3, 3) of its small turns about vehicle x, y, z [rad²].

    misfit : how far the axes contradict one another, as chi squared over its degrees of freedom, 0 where they cannot
    """

    rotation: np.ndarray
    covariance: np.ndarray
    misfit: float


def fit_turn(axes: np.ndarray, covariance: np.ndarray, doubt_rad: np.ndarray) -> Turn:
    """Generalised least squares for the rotation whose rows lie nearest to the measured axes (Wahba's problem with a
    full covariance).

    axes (3, 3) : forward, left and up as measured in sensor axes, any length, NaN rows where not measured; two or more
    covariance (3, 3, 3, 3) of their components; doubt_rad (3, 3) : systematic standard uncertainty of axis i towards j
    """
    known = np.all(np.isfinite(axes), axis=1)
    length = np.linalg.norm(axes, axis=1)
    pairs = [(i, j) for i, j in _PAIRS if known[i]]
    slopes = np.array([_LEVI[i, j] for i, j in pairs])
    rotation = _first(axes, doubt_rad)
    for _ in range(_ROUNDS):
        off = np.array([axes[i] @ rotation[j] / length[i] for i, j in pairs])
        spread = _spread(pairs, rotation, length, covariance, doubt_rad)
        weight = np.linalg.inv(spread)
        turned = np.linalg.inv(slopes.T @ weight @ slopes)
        small = turned @ slopes.T @ weight @ off
        rotation = nearest_rotation(rotation + np.cross(rotation.T @ small, rotation))
    off = np.array([axes[i] @ rotation[j] / length[i] for i, j in pairs])
    free = max(len(pairs) - 3, 1)
    return Turn(rotation=rotation, covariance=turned, misfit=float(off @ weight @ off / free))


def _spread(
    pairs: list[tuple[int, int]], rotation: np.ndarray, length: np.ndarray, covariance: np.ndarray, doubt: np.ndarray
) -> np.ndarray:
    count = len(pairs)
    spread = np.zeros((count, count))
    for a, (i, j) in enumerate(pairs):
        for b, (k, m) in enumerate(pairs):
            spread[a, b] = rotation[j] @ covariance[i, :, k, :] @ rotation[m] / (length[i] * length[k])
        spread[a, a] += doubt[i, j] ** 2
    return spread


def _first(axes: np.ndarray, doubt_rad: np.ndarray) -> np.ndarray:
    """A rotation to begin with, by up and whichever of forward and left is less in doubt."""
    up = axes[2] / np.linalg.norm(axes[2])
    if np.all(np.isfinite(axes[0])) and not (np.all(np.isfinite(axes[1])) and doubt_rad[1, 0] < doubt_rad[0, 1]):
        forward = axes[0] - up * (axes[0] @ up)
    else:
        forward = np.cross(axes[1], up)
    forward = forward / np.linalg.norm(forward)
    return np.stack([forward, np.cross(up, forward), up])


def chance_within(covariance: np.ndarray, limit_rad: float, *, freedom: float) -> float:
    """Probability that the forward axis lies within ``limit_rad``, from the turns' covariance (3, 3) [rad²].

    Forward errs by turns about y and z. freedom : degrees of freedom of the covariance (Student's t), at least 1
    """
    both = covariance[1:, 1:]
    spread = np.sqrt(np.maximum(np.linalg.eigvalsh(both), 1e-12))
    # Quadrature over the circle: along each direction the error is one-dimensional in its own scaled radius.
    angle = (np.arange(64) + 0.5) * np.pi / 128
    reach = limit_rad / np.hypot(spread[0] * np.cos(angle), spread[1] * np.sin(angle))
    return float(np.mean(1 - (1 + reach**2 / freedom) ** (-freedom / 2)))
