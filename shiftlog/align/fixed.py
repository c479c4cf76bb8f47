"""From when and until when a sensor sat in its holder, where it was fixed or taken out as it logged: by gravity."""

from dataclasses import dataclass, replace

import numpy as np

from shiftlog.align.felt import GRID_S, Felt
from shiftlog.model.drive import Mounting

LEAST_EDGE_S, LONGEST_EDGE_S = 4.0, 60.0
"""What is longer may tell forward by itself and is left to the search for a slip; what is shorter weighs nothing."""

STEP_S, GUARD_S = 1.0, 2.0
"""Steps in which the stretch is sought, and what is left out beyond it: a hand needs a moment to let go."""

LEAST_TURN_DEG = 13.0
"""From a descent to an ascent of 12 % each up changes by 13.7 degrees."""

STANDS_OUT = 2.0
"""So many times as far off as any other stretch of that length: bends, braking and hills come again, no hand does."""

LEAST_REST = 3.0
"""The rest must be so many times as long, to be what is usual."""


@dataclass(frozen=True, kw_only=True)
class Fixed:
    """from_s, to_s : between these it sat in its holder [s], None for an end of the log it was fixed at."""

    from_s: float | None = None
    to_s: float | None = None


def find_fixed(felt: Felt) -> Fixed:
    """Between when the sensor lay as it lay for the most of the time."""
    step = round(STEP_S / GRID_S)
    force = felt.force[: felt.force.shape[0] // step * step].reshape(-1, step, 3).mean(axis=1)
    first, last = _edge(force), _edge(force[::-1])
    start = float(felt.time_s[0] - GRID_S / 2)
    return Fixed(
        from_s=None if first is None else start + first * STEP_S + GUARD_S,
        to_s=None if last is None else start + (len(force) - last) * STEP_S - GUARD_S,
    )


def within(felt: Felt, fixed: Fixed) -> Felt:
    """What was felt while the sensor sat in its holder."""
    low = -np.inf if fixed.from_s is None else fixed.from_s
    high = np.inf if fixed.to_s is None else fixed.to_s
    return replace(felt, held=felt.held & (felt.time_s > low) & (felt.time_s < high))


def with_fixed(mounting: Mounting, fixed: Fixed | None) -> Mounting:
    """The mounting with when it holds; as it is where it was declared, or is not known."""
    if mounting.rotation is None or mounting.how == "declared" or fixed in (None, Fixed()):
        return mounting
    low, high = mounting.held_s
    held_s = fixed.from_s if low is None else low, fixed.to_s if high is None else high
    ends = [f"before {fixed.from_s:.0f} s"] if fixed.from_s is not None else []
    ends += [f"from {fixed.to_s:.0f} s on"] if fixed.to_s is not None else []
    why = f"{' and '.join(ends)} the sensor lay otherwise than for the rest of the log; its readings there are left out"
    return replace(mounting, held_s=held_s, why=why if mounting.why is None else f"{why}; {mounting.why}")


def _edge(force: np.ndarray) -> int | None:
    """How many steps of force (k, 3) at the beginning lie otherwise than the rest, by two means that fit best; None
    where none do."""
    least, longest = round(LEAST_EDGE_S / STEP_S), round(LONGEST_EDGE_S / STEP_S)
    sizes = np.arange(least, min(2 * longest, len(force) - least))
    if sizes.size == 0:
        return None
    sums = np.cumsum(force, axis=0)
    early, late = sums[sizes - 1] / sizes[:, None], (sums[-1] - sums[sizes - 1]) / (len(force) - sizes)[:, None]
    gain = np.square(early - late).sum(axis=1) * sizes * (len(force) - sizes)
    at = int(np.argmax(gain))
    size = int(sizes[at])
    if size > longest or len(force) < (1 + LEAST_REST) * size:
        return None
    windows = (sums[2 * size - 1 :] - sums[size - 1 : -size]) / size
    usual = np.median(force[size:], axis=0)
    others = float(np.linalg.norm(windows - usual, axis=1).max())
    off = float(np.linalg.norm(early[at] - usual))
    least_off = 2 * np.sin(np.deg2rad(LEAST_TURN_DEG) / 2) * float(np.linalg.norm(usual))
    return size if off > max(least_off, STANDS_OUT * others) else None
