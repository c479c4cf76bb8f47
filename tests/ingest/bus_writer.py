"""Writes bus traces for tests with python-can: frames of engine and vehicle speed at two rates."""

from pathlib import Path

import can
import numpy as np

from tests.bus_signals import signals_dbc, signals_toml

_WRITTEN = ("engine_speed", "vehicle_speed", "accel_x")
SIGNALS_TOML, DBC = signals_toml(*_WRITTEN), signals_dbc(*_WRITTEN)


def drive_frames(seconds: float = 4.0, *, start_s: float = 1_700_000_000.0) -> list[can.Message]:
    """Engine speed at 100 Hz, vehicle speed and acceleration at 50 Hz, in the order in which a bus brings them."""
    frames = []
    for k in range(int(seconds * 100)):
        rpm = 1000 + 10 * (k % 300)
        frames.append(_frame(start_s + k * 0.01 + 0.0011, 0x140, bytes([0, 0, rpm & 0xFF, rpm >> 8, 0, 0, 0, 0])))
        if k % 2 == 0:
            raw = 200 + k
            frames.append(_frame(start_s + k * 0.01 + 0.0029, 0x0D1, bytes([raw & 0xFF, raw >> 8, 0, 0, 0, 0, 0, 0])))
            frames.append(_frame(start_s + k * 0.01 + 0.0047, 0x0D0, bytes([0] * 7 + [(k // 4) % 256])))
    return frames


def _frame(time: float, identifier: int, data: bytes, **more: object) -> can.Message:
    return can.Message(
        timestamp=time, arbitration_id=identifier, data=data, is_extended_id=identifier > 0x7FF, channel=0, **more
    )


def write_trace(frames: list[can.Message], path: Path) -> Path:
    """Writes frames in the format of the path's ending: .log .trc .asc .blf."""
    with can.Logger(path) as logger:
        for frame in frames:
            logger(frame)
    return path


def truth(frames: list[can.Message]) -> dict[str, np.ndarray]:
    """Raw values of the three signals."""
    return {
        "engine_speed": np.array([f.data[2] | f.data[3] << 8 for f in frames if f.arbitration_id == 0x140]) & 0x3FFF,
        "vehicle_speed": np.array([f.data[0] | f.data[1] << 8 for f in frames if f.arbitration_id == 0x0D1]),
        "accel_x": np.array([f.data[7] for f in frames if f.arbitration_id == 0x0D0], dtype=np.uint8).view(np.int8),
    }
