"""Reads the bus traces as their SOURCE.txt says, by itself: what the product reads is held against this."""

import re
from pathlib import Path

import numpy as np

FRAME = re.compile(r"\((\d+\.\d+)\) \w+ ([0-9A-F]{3})#([0-9A-F]*)")
SPEED_KMH = 0.05625


def read_candump(path: Path) -> dict[str, np.ndarray]:
    """(k, 2) time from the trace's start [s] and value, of ``engine_speed`` [rpm], ``vehicle_speed`` [km/h],
    ``accel_x`` [m/s²] and ``gear_code`` (1 to 6, 7 neutral or clutch, 0 in between)."""
    rows: dict[str, list[tuple[float, float]]] = {}
    for line in path.read_text().splitlines():
        frame = FRAME.match(line)
        if frame is None:
            continue
        for channel, value in decode(frame[2], bytes.fromhex(frame[3])):
            rows.setdefault(channel, []).append((float(frame[1]), value))
    begin = min(values[0][0] for values in rows.values())
    return {channel: np.array(values) - (begin, 0) for channel, values in rows.items()}


def decode(identifier: str, data: bytes) -> list[tuple[str, float]]:
    """The channels of one frame, by SOURCE.txt of the folder."""
    if identifier == "140":
        return [("engine_speed", (data[2] | data[3] << 8) & 0x3FFF)]
    if identifier == "141":
        return [("gear_code", data[6] & 0x0F)]
    if identifier == "0D1":
        return [("vehicle_speed", (data[0] | data[1] << 8) * SPEED_KMH)]
    if identifier == "0D0":
        return [("accel_x", (data[7] - 256 * (data[7] > 127)) * -0.1)]
    return []
