"""What the logs of a drive are worth as a JSON document: the recordings as in the result, and the drive as a whole."""

from shiftlog.measure.capability import judge_drive, report_recording
from shiftlog.model.drive import Drive
from shiftlog.store.document import FORMAT, SHAPES
from shiftlog.store.plain import to_plain


def worth_to_document(drive: Drive) -> dict:
    """Plain values only. ValueError where a number is not finite."""
    can, cannot = judge_drive(drive.placed, car=drive.car)
    return {
        "format": FORMAT,
        "drive": drive.head.id,
        "car": drive.car.name,
        "clock": {"recording": drive.clock_recording, "zero": float(drive.clock_zero_s)},
        "recordings": [to_plain(report_recording(p, drive.placed), shapes=SHAPES) for p in drive.placed],
        "left_out": to_plain(drive.left_out, shapes=SHAPES),
        "can_measure": [{"measure": a.name, "from": list(a.recordings), "doubt": a.doubt} for a in can],
        "cannot_measure": [{"measure": u.name, "why": u.why, "mend": u.mend} for u in cannot],
        "notes": list(drive.notes),
    }
