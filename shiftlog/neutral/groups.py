"""Rests of several drives by what they share: standing or under way, cold or hot."""

from collections import Counter
from collections.abc import Sequence

import numpy as np

from shiftlog.measure.neutral import measure_hysteresis, measure_share
from shiftlog.measure.synchro import temperature_band
from shiftlog.model.car import GateLayout
from shiftlog.model.neutral import RestGroup
from shiftlog.model.reading import Reading, measured, unmeasured
from shiftlog.model.rest import Rest
from shiftlog.model.result import DriveResult
from shiftlog.model.settings import Settings
from shiftlog.signal.middle import middle_of

STANDING_MPS = Settings().standing_mps
STANDING, UNDER_WAY, NOT_KNOWN = "standing", "under way", "not known"
MOVINGS = (UNDER_WAY, STANDING, NOT_KNOWN)
BANDS = ("cold", "between", "hot", NOT_KNOWN)
UNMOVED_MM = 3.0
"""A run shorter than this is no motion of the lever's own (the least that a return time is given for)."""
LEAST_SIDE = 2
"""Rests from a side, so that one stray rest is not taken for it."""


def group_rests(results: Sequence[DriveResult], layout: GateLayout) -> tuple[RestGroup, ...]:
    """One group for each way of driving and temperature band that holds a rest, those under way first."""
    groups: dict[tuple[str, str], list[Rest]] = {}
    for result in results:
        for rest in result.rests:
            groups.setdefault((_moving(rest), _band(rest, result)), []).append(rest)
    order = sorted(groups, key=lambda key: (MOVINGS.index(key[0]), BANDS.index(key[1])))
    return tuple(measure_group(groups[key], layout, moving=key[0], band=key[1]) for key in order)


def _moving(rest: Rest) -> str:
    speed = rest.value("vehicle_speed_mps")
    return NOT_KNOWN if speed is None else UNDER_WAY if abs(speed) >= STANDING_MPS else STANDING


def _band(rest: Rest, result: DriveResult) -> str:
    """By temperature where it is known; a drive that is marked as cold is cold where it is not."""
    band = temperature_band(rest.value("gearbox_temp_c"))
    return "cold" if band == NOT_KNOWN and result.head.cold else band


def measure_group(rests: Sequence[Rest], layout: GateLayout, *, moving: str, band: str) -> RestGroup:
    """Counts, the wrong-plane share and the medians of one group."""
    straight = [r for r in rests if not r.in_bend]
    released = [r for r in straight if r.released]
    unknown = [r for r in straight if r.released is None]
    unmoved = [r for r in unknown if r.moved_mm is None or r.moved_mm < UNMOVED_MM]
    share = measure_share(straight, layout)
    known = [measure_hysteresis(released), *(_median(key, released) for key in _MEDIANS)]
    return RestGroup(
        moving=moving, band=band, released=len(released), unknown=len(unknown), unmoved=len(unmoved),
        guided=len(straight) - len(released) - len(unknown), in_bends=len(rests) - len(straight),
        unmoved_elsewhere=sum(layout.home is not None and r.plane != layout.home for r in unmoved),
        unmoved_apart_mm=_apart(unmoved), readings={r.key: r for r in known},
        rests=tuple(rests),
        manners=Counter(r.manner for r in released if r.manner is not None),
        wrong_plane=None if isinstance(share, str) else share,
        unmeasured={"wrong_plane": share} if isinstance(share, str) else {},
    )  # fmt: skip


_MEDIANS = ("offset_mm", "return_time_s", "frequency_hz", "damping")


def _median(key: str, rests: Sequence[Rest]) -> Reading:
    """Median of a figure over rests; what they share, a lever that drifts against its map, no median takes away."""
    readings = [r.readings[key] for r in rests if key in r.readings]
    known = [r for r in readings if r.value is not None]
    if not known:
        return unmeasured(key, readings[0].why if readings else "no rest to which the lever ran by itself")
    shared = float(np.median([r.uncertainty or 0.0 for r in known]))
    middle = middle_of([float(r.value) for r in known], shared_u=shared)
    return measured(key, middle.value, uncertainty=middle.u, interval95=middle.interval95)


def _sides(rests: Sequence[Rest]) -> tuple[np.ndarray, np.ndarray]:
    """Where the lever lay when it came from the right, and from the left, (n,) and (m,) [mm]."""
    return tuple(np.array([r.select_mm for r in rests if r.came_from == side]) for side in ("right", "left"))


def _apart(unmoved: Sequence[Rest]) -> float | None:
    right, left = _sides(unmoved)
    if min(right.size, left.size) < LEAST_SIDE:
        return None
    return float(np.median(right) - np.median(left))
