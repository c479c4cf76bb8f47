"""Rotations of three-axis signals."""

import numpy as np


def nearest_rotation(matrix: np.ndarray) -> np.ndarray:
    """The rotation nearest to a (3, 3) matrix in the least-squares sense (orthogonal Procrustes, by its SVD)."""
    left, _, right = np.linalg.svd(matrix)
    left = left @ np.diag([1.0, 1.0, np.linalg.det(left @ right)])
    return left @ right


def rotate(values: np.ndarray, rotation: np.ndarray) -> np.ndarray:
    """Each row of values (n, 3) turned: rotation (3, 3) · row."""
    return values @ rotation.T
