"""A motion sensor, on the lever or on the body, that turned in its holder: a step in how they lie that stays.

A shift turns the lever's sensor and brings it to a place where it lay before, or will lie again; the body's sensor
turns with the car. A body's sensor that turns by itself is seen by the two gyros. Where the lever's does, every place
the lever lies in has moved from then on, by the same turn.
"""

from dataclasses import dataclass, replace

import numpy as np
from scipy.spatial.transform import Rotation

from shiftlog.errors import CannotMeasure
from shiftlog.signal.attitude_steps import GAP_S, GRID_S, REST_S, Course, Step, find_steps, lay_course
from shiftlog.signal.motion_blocks import Sensed
from shiftlog.signal.relative_attitude import RelativeAttitude

OUTER_SHARE = 0.6
"""Of a shift the body's sensor turns no fifth along, of its own slip all (made drives); this lies between."""
SAME_PLACE_DEG, OTHER_PLACE_DEG = 0.3, 0.7
"""A place is met again within the first, and two places of a gate lie farther apart than the second."""
_FAR_DEG = 1.0
_LEAST_PLACES = 3
"""So many places on either side, or a row of seats passes for another row."""
_MOVED_DEG, _LEFT_SHARE = 0.5, 0.35
"""Places must lie so far off without the slip, and no more than this share of it with it."""
MOST_SLIPS = 10
"""A sensor that slips more often lies loose (common practice, no source)."""


@dataclass(frozen=True, kw_only=True)
class Slip:
    """When which of the two sensors turned by how much; u_deg : what is left of it once it is mended."""

    at_s: float
    of_lever: bool
    turned_deg: float
    u_deg: float


def mend_slips(
    smoothed: RelativeAttitude, inner: Sensed, outer: Sensed, *, on_body: bool
) -> tuple[RelativeAttitude, tuple[Slip, ...]]:
    """The attitude as if neither sensor had slipped, without the second about each slip; and the slips.

    on_body : whether the outer sensor sits on the body; engine and gearbox roll on their mounts, the lever does not
    CannotMeasure where they slip too often.
    """
    slips: list[Slip] = []
    for _ in range(MOST_SLIPS + 1):
        course = lay_course(smoothed.time_s, smoothed.attitude, inner, outer)
        steps = [step for step in find_steps(course) if all(abs(step.at_s - s.at_s) > 2 * GAP_S for s in slips)]
        alone = [step for step in steps if on_body and step.outer_share > OUTER_SHARE]
        step = alone[0] if alone else _moved_all_places(course, steps, smoothed.upright)
        if step is None:
            return smoothed, tuple(sorted(slips, key=lambda slip: slip.at_s))
        of_lever = step.outer_share <= OUTER_SHARE
        smoothed = _mended(smoothed, step, of_lever=of_lever)
        slips.append(Slip(at_s=step.at_s, of_lever=of_lever, turned_deg=step.turned_deg, u_deg=step.u_deg))
    raise CannotMeasure(
        f"the motion sensors of lever and body turned in their holders more than {MOST_SLIPS} times; fix both firmly "
        "and drive again"
    )


def _mended(smoothed: RelativeAttitude, step: Step, *, of_lever: bool) -> RelativeAttitude:
    """Turned back from the step on: in the axes of the sensor that turned."""
    kept = np.abs(smoothed.time_s - step.at_s) > GAP_S
    time_s, attitude = smoothed.time_s[kept], smoothed.attitude[kept]
    later = time_s > step.at_s
    if of_lever:
        back = attitude[later] * (step.after.inv() * step.before)
    else:
        back = step.before * step.after.inv() * attitude[later]
    return replace(smoothed, time_s=time_s, attitude=Rotation.concatenate([attitude[~later], back]))


def _moved_all_places(course: Course, steps: list[Step], upright: np.ndarray) -> Step | None:
    """The step with which the places before and after fall together, where they lie apart without it."""
    at_s, places = _find_places(course, upright)
    best, found = _LEFT_SHARE, None
    for step in steps:
        before, after = places[at_s < step.at_s], places[at_s > step.at_s]
        if min(_count_distinct(before), _count_distinct(after)) < _LEAST_PLACES:
            continue
        apart = _apart_deg(before, after)
        if apart < _MOVED_DEG:
            continue
        turned = np.rad2deg((step.after * step.before.inv()).as_rotvec())
        left = _apart_deg(before, after - _across(turned, upright)) / apart
        if left < best:
            best, found = left, step
    return found


def _find_places(course: Course, upright: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """When and where the lever lay still for a second or more: (k,) [s], (k, 3) [deg]; each lying once."""
    size = int(REST_S / GRID_S)
    count = len(course.turned) // size
    windows = _across(course.turned, upright)[: count * size].reshape(count, size, 3)
    mean = windows.mean(axis=1)
    goes_on = np.linalg.norm(np.diff(mean, axis=0), axis=1) < SAME_PLACE_DEG
    bounds = np.concatenate([[0], np.flatnonzero(~goes_on) + 1, [count]])
    lain = [(a, b) for a, b in zip(bounds[:-1], bounds[1:], strict=True) if b - a >= 2]
    at_s = np.array([0.5 * (a + b) * REST_S for a, b in lain]) + course.time_s[0]
    return at_s, np.array([np.median(mean[a:b], axis=0) for a, b in lain]).reshape(-1, 3)


def _across(turned: np.ndarray, upright: np.ndarray) -> np.ndarray:
    """Without the turn about the vertical, which gravity does not hold."""
    return turned - np.multiply.outer(turned @ upright, upright)


def _apart_deg(one: np.ndarray, other: np.ndarray) -> float:
    """Mean way from a place of either to the next one of the other, no way longer than ``_FAR_DEG``."""
    ways = np.minimum(np.linalg.norm(one[:, None] - other[None], axis=2), _FAR_DEG)
    return float((ways.min(axis=1).mean() + ways.min(axis=0).mean()) / 2)


def _count_distinct(places: np.ndarray) -> int:
    kept: list[np.ndarray] = []
    for place in places:
        if all(np.linalg.norm(place - other) > OTHER_PLACE_DEG for other in kept):
            kept.append(place)
    return len(kept)
