"""A drive's lines as memory-mapped arrays of the workshop's cache: a second look reads no log."""

from collections.abc import Callable
from typing import Protocol

import numpy as np

from dashboard.signals import Line


class Cache(Protocol):
    """Where arrays are kept by key."""

    def get(self, key: str, make: Callable[[], np.ndarray]) -> np.ndarray:
        """The array of a key, made where it is missing."""


def keep_lines(cache: Cache, key: str, make: Callable[[], tuple[Line, ...]]) -> tuple[Line, ...]:
    """The lines of a key; ``make`` is asked only for what the cache lacks. Values are kept as float32."""
    names = cache.get(f"{key}/names", lambda: _names(make()))
    return tuple(_line(cache, f"{key}/{i}", tuple(map(str, row)), lambda i=i: make()[i]) for i, row in enumerate(names))


def _names(lines: tuple[Line, ...]) -> np.ndarray:
    return np.array([(line.key, line.label, line.unit) for line in lines], dtype=np.str_).reshape(-1, 3)


def _line(cache: Cache, key: str, names: tuple[str, ...], make: Callable[[], Line]) -> Line:
    spans = cache.get(f"{key}/spans", lambda: np.array(make().spans, dtype=float).reshape(-1, 2))
    return Line(
        key=names[0], label=names[1], unit=names[2], time_s=cache.get(f"{key}/time", lambda: make().time_s),
        values=cache.get(f"{key}/values", lambda: make().values.astype(np.float32)),
        spans=tuple((float(a), float(b)) for a, b in spans),
    )  # fmt: skip
