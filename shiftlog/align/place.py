"""The logs of a drive laid on one clock: drive time."""

from shiftlog.align.clocks import choose_reference, first_valid_s, match_declared, on_drive_time
from shiftlog.align.mounting import declared_mountings
from shiftlog.align.overlap import find_apart
from shiftlog.align.signals import build_signals
from shiftlog.errors import DriveError
from shiftlog.model.drive import Drive, DriveLogs, Placed


def place_recordings(logs: DriveLogs) -> Drive:
    """Places every usable recording on drive time and gathers the drive's signals.

    recorder time = drive time · (1 + drift · 1e-6) + offset. Recordings on a clock about which nothing is known
    stay in the drive, not placed, with the reason; those that overlap the reference nowhere are left out.
    DriveError where no recording is usable; ProfileError where a declared mounting is no rotation.
    """
    if not logs.recordings:
        why = " ".join(item.why for item in logs.left_out)
        raise DriveError(f"{logs.head.id}: no recording can be used. {why}".rstrip())
    mountings = declared_mountings(logs.recordings)
    reference = choose_reference(logs.recordings)
    matches = match_declared(logs.recordings, reference)
    placed = tuple(
        Placed(
            recording=on_drive_time(recording, matches[recording.name]),
            clock=matches[recording.name],
            mounting=mountings[recording.name],
        )
        for recording in logs.recordings
    )
    apart = find_apart(placed, reference.name)
    names = {item.name for item in apart}
    used = tuple(p for p in placed if p.recording.name not in names)
    return Drive(
        head=logs.head,
        car=logs.car,
        placed=used,
        clock_recording=reference.name,
        clock_zero_s=first_valid_s(reference),
        signals=build_signals(used),
        left_out=(*logs.left_out, *apart),
        tests=logs.tests,
        folder=logs.folder,
        notes=(*logs.notes, *_half_levers(used)),
    )


def _half_levers(placed: tuple[Placed, ...]) -> list[str]:
    """A line for each log that holds one axis of a lever: both are needed, on one time axis."""
    lines = []
    for item in placed:
        for axis, other in (("select", "engage"), ("engage", "select")):
            if item.recording.has(axis) and not item.recording.has(other):
                lines.append(
                    f"{item.recording.file}: has {axis} and no {other}: lever figures need both in one log; log or map "
                    f"the column of {other} under [recording.columns]."
                )
    return lines
