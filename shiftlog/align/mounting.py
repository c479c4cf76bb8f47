"""How each motion sensor lies in the car: as declared, else found from what it felt."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from shiftlog.align.course import course_on
from shiftlog.align.felt import Felt, feel, speed_on
from shiftlog.align.fixed import Fixed, find_fixed, with_fixed, within
from shiftlog.align.mounting_fit import LEAST_LAG_U_S, Fit, Speed, fit_by_other, fit_lag, fit_mounting
from shiftlog.errors import ProfileError
from shiftlog.model.drive import Mounting, Placed
from shiftlog.model.recording import Recording
from shiftlog.signal.rotate import nearest_rotation

_TOLERANCE = 1e-2
"""What typing two or three decimals costs; more than that is no rotation."""


def declared_mountings(recordings: tuple[Recording, ...]) -> dict[str, Mounting]:
    """The mounting of each recording by name. ProfileError names every matrix that is no rotation, in one line."""
    faults = [f"{r.name}: {fault}" for r in recordings if (fault := _fault(r.mounting))]
    if faults:
        raise ProfileError("drive.toml: mounting of " + "; ".join(faults) + ".")
    return {recording.name: _mounting(recording) for recording in recordings}


def _fault(matrix: np.ndarray | None) -> str | None:
    if matrix is None:
        return None
    if np.max(np.abs(matrix @ matrix.T - np.eye(3))) > _TOLERANCE:
        return "its rows are not three unit vectors at right angles (vehicle x, y, z in sensor axes)"
    if np.linalg.det(matrix) < 0:
        return "it is a mirror image and no rotation; turn the sign of one row"
    return None


def _mounting(recording: Recording) -> Mounting:
    if recording.mounting is None:
        moves = any(c.name.startswith(("accel_", "gyro_")) for c in recording.channels)
        why = "drive.toml does not say how the sensor lies in the car" if moves else "it has no motion sensor"
        return Mounting(rotation=None, how="unknown", why=why)
    return Mounting(rotation=nearest_rotation(recording.mounting), how="declared", confidence=1.0)


@dataclass(frozen=True, eq=False, kw_only=True)
class Found:
    """A mounting, with the speed recording that told and its lag behind the sensor [s], where speed told."""

    mounting: Mounting
    by_speed_of: str | None = None
    lag_s: float | None = None
    lag_u_s: float | None = None


def find_mountings(placed: Sequence[Placed], declared: dict[str, Mounting]) -> dict[str, Found]:
    """The mounting of each recording by name: declared, else by gravity with speed, yaw rate, stops or another sensor.

    A sensor on the lever moves with it and has none. Where nothing tells, rotation is None with the reason.
    """
    felt = {
        p.recording.name: feel(p.recording, _gyro_beside(p, placed)) for p in placed if p.recording.place != "lever"
    }
    fixed = {name: Fixed() if f is None else find_fixed(f) for name, f in felt.items()}
    felt = {name: None if f is None else within(f, fixed[name]) for name, f in felt.items()}
    found = {p.recording.name: _find(p, felt.get(p.recording.name), placed, declared) for p in placed}
    found = {p.recording.name: _by_others(p, felt, placed, found) for p in placed}
    found = {name: replace(f, mounting=with_fixed(f.mounting, fixed.get(name))) for name, f in found.items()}
    return {p.recording.name: _of_one_device(p, placed, found) for p in placed}


def _gyro_beside(placed: Placed, all_placed: Sequence[Placed]) -> Recording | None:
    """The gyro of the same device where it wrote a file of its own: same place, same clock, no accelerometer."""
    mine = placed.recording
    if mine.has("gyro_x"):
        return mine
    others = [p.recording for p in all_placed if p is not placed]
    return next(
        (
            r
            for r in others
            if r.has("gyro_x") and not r.has("accel_x") and (r.place, r.clock) == (mine.place, mine.clock)
        ),
        None,
    )


def _of_one_device(placed: Placed, all_placed: Sequence[Placed], found: dict[str, Found]) -> Found:
    """A gyro's file has the mounting of the accelerometer beside it."""
    mine = found[placed.recording.name]
    if mine.mounting.rotation is not None or not placed.recording.has("gyro_x"):
        return mine
    for other in all_placed:
        if other.recording.has("accel_x") and _gyro_beside(other, all_placed) is placed.recording:
            theirs = found[other.recording.name].mounting
            if theirs.rotation is not None:
                return Found(mounting=replace(theirs, how=f"by {other.recording.name}"))
    return mine


def _find(placed: Placed, felt: Felt | None, all_placed: Sequence[Placed], declared: dict[str, Mounting]) -> Found:
    said = declared[placed.recording.name]
    if felt is None:
        if said.rotation is None and placed.recording.place == "lever" and placed.recording.has("accel_x"):
            return Found(mounting=Mounting(rotation=None, how="unknown", why="it moves with the lever"))
        return Found(mounting=said)
    near = [p for p in all_placed if p is placed or (p.on_drive_time and placed.on_drive_time)]
    speeds = _speeds(felt, near)
    if said.rotation is not None:
        return _found(Fit(mounting=said) if (lag := fit_lag(felt, speeds)) is None else replace(lag, mounting=said))
    courses = [c for p in near if (c := course_on(felt.time_s, p.recording)) is not None]
    return _found(fit_mounting(felt, speeds, courses))


def _found(fit: Fit) -> Found:
    """With the lag of speed, where it is known well enough to be of use."""
    if fit.lag is None or fit.lag.u_s > LEAST_LAG_U_S:
        return Found(mounting=fit.mounting)
    return Found(mounting=fit.mounting, by_speed_of=fit.speed, lag_s=fit.lag.lag_s, lag_u_s=fit.lag.u_s)


def _speeds(felt: Felt, near: list[Placed]) -> list[Speed]:
    """Vehicle speeds on this sensor's time: its own recording's, and those placed on drive time as it is."""
    found = [(p, speed_on(felt.time_s, p.recording)) for p in near]
    return [Speed(mps=s[0], known=s[1], recording=p.recording.name) for p, s in found if s is not None]


def _by_others(
    placed: Placed, felt: dict[str, Felt | None], all_placed: Sequence[Placed], found: dict[str, Found]
) -> Found:
    """The mounting by another sensor that felt the same, where that one is surer of its own."""
    mine, here = found[placed.recording.name], felt.get(placed.recording.name)
    if here is None or not placed.on_drive_time or mine.mounting.how == "declared":
        return mine
    surest = mine.mounting
    for other in all_placed:
        theirs, there = found[other.recording.name].mounting, felt.get(other.recording.name)
        if other is placed or there is None or theirs.rotation is None or not other.on_drive_time:
            continue
        if (theirs.confidence or 0.0) <= (surest.confidence or 0.0):
            continue
        fitted = fit_by_other(here, there, theirs, other.recording.name)
        if fitted is not None and (fitted.confidence or 0.0) > (surest.confidence or 0.0):
            surest = replace(fitted, gyro_fits=mine.mounting.gyro_fits)
    return replace(mine, mounting=surest)
