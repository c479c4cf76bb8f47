"""Declared mountings: checked, made exact, and applied."""

import numpy as np

from shiftlog.errors import ProfileError
from shiftlog.model.drive import Mounting
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
