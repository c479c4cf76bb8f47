"""The logs of a drive laid on one clock, and their sensors' axes turned to the vehicle's."""

from dataclasses import replace

from shiftlog.align.clocks import choose_reference, first_valid_s, match_clocks, on_drive_time
from shiftlog.align.mounting import Found, declared_mountings, find_mountings
from shiftlog.align.overlap import find_apart
from shiftlog.align.signals import build_signals
from shiftlog.errors import DriveError
from shiftlog.model.drive import Drive, DriveLogs, Latency, Mounting, Placed
from shiftlog.model.frozen import stood_alike
from shiftlog.model.recording import LEVER

PARTNER_LEFT = "left out there, and shifts in that time may be missing. Check its sensor, lead or source."
MOTION_LEFT = (
    "left out there, and nothing is felt in that time. Check the sensor's lead, its supply and how the logger reads it."
)


def place_recordings(logs: DriveLogs) -> Drive:
    """Places every usable recording on drive time, finds how its sensor lies, and gathers the drive's signals.

    recorder time = drive time · (1 + drift · 1e-6) + offset. Recordings whose clock is neither declared nor found
    stay in the drive, not placed, with the reason; those that overlap the reference nowhere are left out.
    DriveError where no recording is usable; ProfileError where a declared mounting is no rotation.
    """
    if not logs.recordings:
        why = " ".join(item.why for item in logs.left_out)
        raise DriveError(f"{logs.head.id}: no recording can be used. {why}".rstrip())
    mountings = declared_mountings(logs.recordings)
    reference = choose_reference(logs.recordings)
    matches = match_clocks(logs.recordings, reference)
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
    used = _mounted(tuple(p for p in placed if p.recording.name not in names), mountings)
    signals = build_signals(used)
    return Drive(
        head=logs.head,
        car=logs.car,
        placed=used,
        clock_recording=reference.name,
        clock_zero_s=first_valid_s(reference),
        signals=signals,
        left_out=(*logs.left_out, *apart),
        tests=logs.tests,
        folder=logs.folder,
        notes=(*logs.notes, *_half_levers(used), *_frozen(used), *signals.lever_slips),
    )


def _mounted(placed: tuple[Placed, ...], declared: dict[str, Mounting]) -> tuple[Placed, ...]:
    """With their mountings, and with the lag of the speed by which one was found."""
    found = find_mountings(placed, declared)
    return tuple(
        replace(p, mounting=found[p.recording.name].mounting, latencies=_latencies(p, placed, found)) for p in placed
    )


def _latencies(speed: Placed, placed: tuple[Placed, ...], found: dict[str, Found]) -> tuple[Latency, ...]:
    """How late this recording's vehicle speed comes against acceleration of the same clock; on another clock the lag
    cannot be told from the offset."""
    for item in placed:
        fit = found[item.recording.name]
        if fit.by_speed_of == speed.recording.name and item.recording.clock == speed.recording.clock:
            return (
                Latency(channel="vehicle_speed", against="acceleration", lag_s=fit.lag_s, uncertainty_s=fit.lag_u_s),
            )
    return ()


def _half_levers(placed: tuple[Placed, ...]) -> list[str]:
    """A line for each log that holds one axis of a lever: both are needed, on one time axis."""
    lines = []
    for item in placed:
        for axis, other in (LEVER, LEVER[::-1]):
            if item.recording.has(axis) and not item.recording.has(other):
                lines.append(
                    f"{item.recording.file}: has {axis} and no {other}: lever figures need both in one log; log or map "
                    f"the column of {other} under [recording.columns]."
                )
    return lines


def _frozen(placed: tuple[Placed, ...]) -> list[str]:
    """A line for channels that stood while their partner changed, or although they tremble: what that may cost."""
    lines = []
    for item in placed:
        for stood in stood_alike(item.recording.quality.frozen_s):
            cost = PARTNER_LEFT if stood.paired else MOTION_LEFT
            lines.append(f"{item.recording.file}: {', '.join(stood.names)} stood {stood.how}; {cost}")
    return lines
