"""What the logs of a drive are worth as a JSON document: the recordings as in the result, and the drive as a whole."""

from shiftlog.measure.capability import DriveWorth
from shiftlog.model.drive import Drive
from shiftlog.store.document import FORMAT, SHAPES
from shiftlog.store.plain import to_plain


def worth_to_document(drive: Drive, worth: DriveWorth) -> dict:
    """Plain values only. ValueError where a number is not finite."""
    return {
        "format": FORMAT,
        "drive": drive.head.id,
        "car": drive.car.name,
        "clock": {"recording": drive.clock_recording, "zero": float(drive.clock_zero_s)},
        "recordings": to_plain(worth.reports, shapes=SHAPES),
        "left_out": to_plain(drive.left_out, shapes=SHAPES),
        "can_measure": [{"measure": a.name, "from": list(a.recordings), "doubt": a.doubt} for a in worth.can],
        "cannot_measure": to_plain(worth.cannot, shapes=SHAPES),
        "notes": list(drive.notes),
    }
