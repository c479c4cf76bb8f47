"""Whether an accelerometer that was logged in one unit felt gravity in another."""

from collections.abc import Sequence

import numpy as np

from shiftlog.errors import UnclearLog
from shiftlog.ingest.columns import ColumnMatch
from shiftlog.ingest.guess_units import guess_acceleration_unit
from shiftlog.model.recording import ACCEL

BLOCK_S, LEAST_BLOCKS = 1.0, 10
"""Over a second shaking evens out and gravity stays; without gravity such means are never of one length for long."""
STEADY_PERCENT = (10.0, 50.0, 90.0)


def check_weight(
    values: np.ndarray, matches: tuple[ColumnMatch, ...], *, rate_hz: float, header: Sequence[str], file: str
) -> None:
    """UnclearLog where (n, k) in inside units holds a steady weight that is gravity in another unit than the one named.

    A log without gravity, or a sensor with an offset of its own, passes.
    """
    at = {m.channel: i for i, m in enumerate(matches)}
    if not all(axis in at for axis in ACCEL):
        return
    named = {matches[at[axis]].unit for axis in ACCEL}
    size = max(round(BLOCK_S * rate_hz), 1)
    count = len(values) // size
    if len(named) != 1 or None in named or count < LEAST_BLOCKS:
        return
    (unit,) = named
    axes = values[: count * size, [at[axis] for axis in ACCEL]] / unit.factor
    means = axes.reshape(count, size, 3).mean(axis=1)
    lengths = np.linalg.norm(means[np.isfinite(means).all(axis=1)], axis=1)
    if lengths.size < LEAST_BLOCKS:
        return
    steady = np.percentile(lengths, STEADY_PERCENT)
    fits = {guess_acceleration_unit(np.array([[length, 0.0, 0.0]])) for length in steady}
    if len(fits) == 1 and not fits & {None, unit.name}:
        (other,) = fits
        first = header[matches[at["accel_x"]].index]
        raise UnclearLog(
            f"{file}: acceleration in {unit.name} reads {steady[1] * unit.factor:.3g} m/s² all the time where gravity "
            f"is 9.8; as {other} its numbers fit. Name it for each axis under [recording.columns], such as "
            f'accel_x = {{ column = "{first}", unit = "{other}" }}, or --unit "{first}={other}".'
        )
