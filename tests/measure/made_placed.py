"""Recordings of ten samples, placed or not, that say of themselves what a test wants."""

import numpy as np

from shiftlog.model.drive import ClockMatch, Mounting, Placed
from shiftlog.model.recording import Channel, Quality, Recording

HERE = ClockMatch(offset_s=0.0, drift_ppm=0.0, how="same clock", confidence=1.0)
NOWHERE = ClockMatch(
    offset_s=None, drift_ppm=None, how="not placed", confidence=None, why="phone: nothing lines up",
    mend="drive longer",
)  # fmt: skip
UNKNOWN = Mounting(rotation=None, how="unknown", why="the car never changed its speed")
KNOWN = Mounting(rotation=np.eye(3), how="gravity and speed", confidence=0.97, uncertainty_deg=1.2)


def placed(name, place, channels, *, rate_hz=100.0, clock=HERE, mounting=UNKNOWN, latencies=(), **quality) -> Placed:
    """A recording of ten samples that says of itself what a test wants."""
    time_s = np.arange(10) / rate_hz
    moves = any(c.startswith("accel") for c in channels)
    known = {"noise_mps2": 0.04, "bandwidth_hz": 0.4 * rate_hz} if moves else {}
    recording = Recording(
        name=name, place=place, file=f"{name}.csv", sha256="", size_bytes=0, clock=name, time_s=time_s,
        channels=tuple(Channel(name=c, unit="1") for c in channels), values=np.zeros((10, len(channels))),
        spans=((0.0, 0.1),),
        quality=Quality(rate_hz=rate_hz, jitter_s=0.0004, samples=10, duration_s=0.1, **(known | quality)),
    )  # fmt: skip
    return Placed(recording=recording, clock=clock, mounting=mounting, latencies=latencies)
