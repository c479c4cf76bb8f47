"""Where values lie thick: a smoothed histogram and its peaks."""

import numpy as np


def fit_density(
    values: np.ndarray, weights: np.ndarray, *, low: float, high: float, bin_width: float, width: float
) -> tuple[np.ndarray, np.ndarray]:
    """Smoothed density of weighted values on an even grid.

    values, weights : (n,); width : standard deviation of the Gaussian kernel, same unit as ``values``
    returns (m,) centres and (m,) density [unit of the weights per unit of the values]
    """
    edges = np.arange(low, high + bin_width, bin_width)
    counts, edges = np.histogram(values, bins=edges, weights=weights)
    centres = (edges[:-1] + edges[1:]) / 2
    return centres, smooth(counts, width / bin_width) / bin_width


def smooth(counts: np.ndarray, width: float) -> np.ndarray:
    """Counts spread by a Gaussian kernel of ``width`` bins, along the last axis."""
    reach = int(np.ceil(4 * width))
    kernel = np.exp(-0.5 * (np.arange(-reach, reach + 1) / width) ** 2)
    kernel /= kernel.sum()
    padded = np.pad(counts, [(0, 0)] * (counts.ndim - 1) + [(reach, reach)])
    return np.apply_along_axis(np.convolve, -1, padded, kernel, mode="valid")


def find_peaks(density: np.ndarray) -> np.ndarray:
    """Indices of the local maxima of a density, highest first, (k,) int."""
    inner = density[1:-1]
    peaks = np.flatnonzero((inner > density[:-2]) & (inner >= density[2:])) + 1
    return peaks[np.argsort(density[peaks])[::-1]]
