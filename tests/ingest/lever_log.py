"""The text of a lever's log with any column of times."""

import numpy as np

RATE = 250.0


def rows(times: list[str] | np.ndarray, *, noise: float = 2.0) -> list[str]:
    """A row for each time; the lever moves and carries noise, so that no two rows are alike."""
    n = len(times)
    rng = np.random.default_rng(7)
    select = 2000 + 200 * np.sin(np.arange(n) / 80) + rng.normal(0, noise, n)
    engage = 2100 + 150 * np.cos(np.arange(n) / 50) + rng.normal(0, noise, n)
    return [f"{t},{a:.3f},{b:.3f}" for t, a, b in zip(times, select, engage, strict=True)]


def log(unit: str, times: list[str] | np.ndarray) -> str:
    """A log whose times are in this unit, or in none that it names."""
    name = f"time [{unit}]" if unit else "time"
    return "\n".join([f"{name},select [mm],engage [mm]", *rows(times)])


EVEN = np.arange(2000) / RATE
