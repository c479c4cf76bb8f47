"""What a recording does for others of its drive, though it may give no figure by itself."""

from collections.abc import Sequence

from shiftlog.measure.needs import NEEDS
from shiftlog.model.drive import Placed
from shiftlog.model.recording import ACCEL, GYRO


def find_help(placed: Placed, drive: Sequence[Placed]) -> tuple[str, ...]:
    """What its signals help with in other recordings, in words; empty where nothing in the drive uses them."""
    if not placed.on_drive_time:
        return ()
    others = [p for p in drive if p is not placed and p.on_drive_time]
    return (*_families(placed, others), *_mountings(placed, others))


def _families(placed: Placed, others: Sequence[Placed]) -> list[str]:
    """The families that another recording carries and that take a signal of this one too."""
    return [
        need.name
        for need in NEEDS
        for way in need.ways
        if any(placed.recording.has(*partner.channels) for partner in way.also)
        and any(p.recording.has(*way.channels) for p in others)
    ]


def _mountings(placed: Placed, others: Sequence[Placed]) -> list[str]:
    """How sensors lie in the car that have none of this recording's signals themselves: speed and turn rate tell it."""
    recording = placed.recording
    if recording.has(*ACCEL) or not (recording.has(*GYRO) or recording.has("vehicle_speed")):
        return []
    turned = [p for p in others if p.recording.has(*ACCEL) and p.recording.place != "lever"]
    return [f"telling how {p.recording.name} lies in the car" for p in turned if p.mounting.how != "declared"]
