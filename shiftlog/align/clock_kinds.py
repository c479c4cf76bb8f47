"""The kinds of evidence that two clocks can share, and how far each can be trusted."""

from dataclasses import dataclass, replace

FINE_S = 0.01
"""Kinds that claim no more than this are those of motion sensors."""


@dataclass(frozen=True, kw_only=True)
class EvidenceKind:
    """How two tracks are compared.

    first, second : kinds of track; words : what is compared, for people
    coarse_hz, fine_hz : bands [Hz] for finding the place and for measuring it; level_s : loudness is evened over this
    window_s : (shortest, longest) window
    reach_s : windows are compared so far to either side of the coarse place, which is right to half of it
    scatter_s : windows that scatter by more are no match; tolerance_s : what confidence speaks of
    u_latency_s : what neither clock nor signal tells of the delay of one against the other (standard uncertainty)
    ceiling : confidence cannot be higher; least_s : what they must have in common
    matched : whether channel belongs to channel; else any mixture of axes may belong to any other
    first_slope, second_slope : whether that track's slope is compared
    """

    words: str
    first: str
    second: str
    coarse_hz: tuple[float, float]
    fine_hz: tuple[float, float]
    level_s: float
    window_s: tuple[float, float]
    reach_s: float
    scatter_s: float
    tolerance_s: float
    u_latency_s: float
    ceiling: float
    least_s: float
    matched: bool = False
    first_slope: bool = False
    second_slope: bool = False


# Below about 8 Hz a car's body, its gearbox and a phone in a cradle move as one; above, mounts and cradles have
# resonances of their own, and the measured coherence decides what counts (common practice, no source). Filters inside
# motion sensors delay by 1 to 3 ms, which no comparison can tell from an offset.
_ACCEL = EvidenceKind(
    words="accelerations",
    first="accel",
    second="accel",
    coarse_hz=(0.4, 8.0),
    fine_hz=(0.4, 12.0),
    level_s=2.0,
    window_s=(5.0, 20.0),
    reach_s=0.3,
    scatter_s=0.03,
    tolerance_s=FINE_S,
    u_latency_s=0.003,
    ceiling=0.999,
    least_s=20.0,
)
_GYRO = replace(
    _ACCEL,
    words="turn rates",
    first="gyro",
    second="gyro",
    coarse_hz=(0.1, 5.0),
    fine_hz=(0.1, 12.0),
    level_s=3.0,
    window_s=(6.0, 20.0),
)


def _slow(words: str, first: str, second: str, *, u_latency_s: float) -> EvidenceKind:
    """Speeds against one another, or their slope against acceleration. What a bus logs comes late by a delay that
    looks like an offset, so that no such match is beyond doubt."""
    return EvidenceKind(
        words=words,
        first=first,
        second=second,
        coarse_hz=(0.04, 1.0),
        fine_hz=(0.04, 3.0),
        level_s=15.0,
        window_s=(20.0, 60.0),
        reach_s=1.5,
        scatter_s=0.3,
        tolerance_s=0.05,
        u_latency_s=u_latency_s,
        ceiling=0.9,
        least_s=60.0,
        first_slope=first.endswith("speed"),
        second_slope=second.endswith("speed"),
    )


_ORDERS = EvidenceKind(
    words="engine speed and engine-order vibration",
    first="orders",
    second="vibration",
    coarse_hz=(0.04, 1.5),
    fine_hz=(0.04, 4.0),
    level_s=10.0,
    window_s=(15.0, 40.0),
    reach_s=1.5,
    scatter_s=0.2,
    tolerance_s=0.05,
    u_latency_s=0.02,
    ceiling=0.9,
    least_s=60.0,
    matched=True,
)


# How late a bus brings vehicle speed depends on how the car filters it (0.02 to 0.2 s, common practice, no source).
# Engine speed comes sooner, but falls at shifts while the car does not: its slope finds the place, and leads by a
# quarter of a second.
KINDS = (
    _ACCEL,
    _GYRO,
    _ORDERS,
    _slow("engine speeds", "engine_speed", "engine_speed", u_latency_s=0.02),
    _slow("vehicle speeds", "vehicle_speed", "vehicle_speed", u_latency_s=0.03),
    _slow("vehicle speed and acceleration", "vehicle_speed", "accel", u_latency_s=0.04),
    _slow("engine speed and acceleration", "engine_speed", "accel", u_latency_s=0.25),
    _slow("engine speed and vehicle speed", "engine_speed", "vehicle_speed", u_latency_s=0.25),
)
"""In order of trust; the first two leave no doubt about delays, and nothing else is asked where they are sure."""
