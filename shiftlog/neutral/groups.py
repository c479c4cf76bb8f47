"""Rests of several drives by what they share: standing or under way, cold or hot."""

from collections import Counter
from collections.abc import Sequence

import numpy as np
from scipy.stats import t as student

from shiftlog.measure.neutral import measure_share
from shiftlog.measure.synchro import temperature_band
from shiftlog.model.car import GateLayout
from shiftlog.model.neutral import RestGroup
from shiftlog.model.reading import Reading, measured, unmeasured
from shiftlog.model.rest import Rest
from shiftlog.model.result import DriveResult

STANDING_MPS = 1.0
STANDING, UNDER_WAY, NOT_KNOWN = "standing", "under way", "not known"
MOVINGS = (UNDER_WAY, STANDING, NOT_KNOWN)
BANDS = ("cold", "between", "hot", NOT_KNOWN)
UNMOVED_MM = 3.0
"""A run shorter than this is no motion of the lever's own (the least that a return time is given for)."""
MEDIAN_SD = 1.2533
"""Standard deviation of a median over that of a mean, √(π/2), of normal values in large samples."""
LEAST_SIDE = 2
"""Rests from a side that a spread takes."""


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
    known = [_hysteresis(released), *(_median(key, released) for key in _MEDIANS)]
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
    """Median of a figure with its standard uncertainty, which takes three values."""
    readings = [r.readings[key] for r in rests if key in r.readings]
    values = np.array([r.value for r in readings if r.value is not None], float)
    if not values.size:
        return unmeasured(key, readings[0].why if readings else "no rest to which the lever ran by itself")
    if values.size < 3:
        return measured(key, float(np.median(values)))
    # What the rests share, a lever that drifts against its map, no median takes away.
    shared = float(np.median([r.uncertainty or 0.0 for r in readings if r.value is not None]))
    u, middle = float(np.hypot(_median_u(values), shared)), float(np.median(values))
    half = float(student.ppf(0.975, values.size - 1)) * u
    return measured(key, middle, uncertainty=u, interval95=(middle - half, middle + half))


def _median_u(values: np.ndarray) -> float:
    return MEDIAN_SD * float(np.std(values, ddof=1)) / np.sqrt(values.size)


def _sides(rests: Sequence[Rest]) -> tuple[np.ndarray, np.ndarray]:
    """Where the lever lay when it came from the right, and from the left, (n,) and (m,) [mm]."""
    return tuple(np.array([r.select_mm for r in rests if r.came_from == side]) for side in ("right", "left"))


def _hysteresis(released: Sequence[Rest]) -> Reading:
    key, (right, left) = "hysteresis_mm", _sides(released)
    if not right.size or not left.size:
        return unmeasured(key, f"released rests from both sides are needed; {right.size} from the right, {left.size} "
                               "from the left")  # fmt: skip
    apart = float(np.median(right) - np.median(left))
    if min(right.size, left.size) < LEAST_SIDE + 1:
        return measured(key, apart)
    u = np.array([_median_u(right), _median_u(left)])
    whole = float(np.hypot(*u))
    if whole == 0.0:
        return measured(key, apart, uncertainty=0.0)
    df = whole**4 / float(np.sum(u**4 / (np.array([right.size, left.size]) - 1)))
    half = float(student.ppf(0.975, df)) * whole
    return measured(key, apart, uncertainty=whole, interval95=(apart - half, apart + half))


def _apart(unmoved: Sequence[Rest]) -> float | None:
    right, left = _sides(unmoved)
    if min(right.size, left.size) < LEAST_SIDE:
        return None
    return float(np.median(right) - np.median(left))
