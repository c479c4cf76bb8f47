"""Many rows on a page: by chance alone one in twenty would claim something."""

from collections.abc import Mapping, Sequence

import numpy as np


def adjust_holm(p: Sequence[float]) -> np.ndarray:
    """Holm's adjusted p, (n,): Scand. J. Statist. 6 (1979). At most one page in twenty then claims anything wrongly."""
    values = np.asarray(p, dtype=float)
    order = np.argsort(values, kind="stable")
    steps = np.maximum.accumulate(values[order] * np.arange(values.size, 0, -1))
    return _in_place(np.minimum(steps, 1.0), order)


def adjust_benjamini_hochberg(p: Sequence[float]) -> np.ndarray:
    """Benjamini and Hochberg's adjusted p, (n,): J. R. Statist. Soc. B 57 (1995). For looking, not for claims."""
    values = np.asarray(p, dtype=float)
    order = np.argsort(values, kind="stable")
    steps = values[order] * values.size / np.arange(1, values.size + 1)
    return _in_place(np.minimum(np.minimum.accumulate(steps[::-1])[::-1], 1.0), order)


def _in_place(ordered: np.ndarray, order: np.ndarray) -> np.ndarray:
    adjusted = np.empty_like(ordered)
    adjusted[order] = ordered
    return adjusted


def gate_rows(p: Mapping[tuple[str, str], float], *, headline: str) -> dict[tuple[str, str], float]:
    """Corrected p by (measure, group): Holm over the headline rows; a measure's kinds by Holm behind its headline.

    A kind is never surer than its headline. Kinds of a measure without a headline count as headlines of their own.
    """
    measures = {m for m, group in p if group == headline}
    front = [key for key in p if key[1] == headline or key[0] not in measures]
    gated = dict(zip(front, adjust_holm([p[key] for key in front]).tolist(), strict=True))
    for measure in measures:
        kinds = [key for key in p if key[0] == measure and key[1] != headline]
        for key, value in zip(kinds, adjust_holm([p[key] for key in kinds]).tolist(), strict=True):
            gated[key] = max(value, gated[measure, headline])
    return gated
