"""One drive under two names: a copy of its folder, or its logs with one more or less."""

from collections.abc import Sequence

from shiftlog.errors import CompareError
from shiftlog.model.result import DriveResult
from shiftlog.model.told import Told, tell

OF_ONE_DRIVE = ("lever", "body")
"""Places whose logs no two drives share: what sat there felt that one drive."""


def shared_log(one: DriveResult, other: DriveResult) -> str | None:
    """The log that makes two drives one, by its SHA-256, or None."""
    own, others = _logs(one), _logs(other)
    return next((own[sha] for sha in own if sha in others), None)


def _logs(result: DriveResult) -> dict[str, str]:
    """Files by SHA-256: those of the lever and the body, or all where the drive has neither."""
    told = {rec.file for rec in result.recordings if rec.place in OF_ONE_DRIVE}
    files = {f.sha256: f.file for f in result.inputs}
    return {sha: file for sha, file in files.items() if file in told} or files


def leave_out_copies(
    before: Sequence[DriveResult], after: Sequence[DriveResult]
) -> tuple[list[DriveResult], list[DriveResult], tuple[Told, ...]]:
    """Both sides without drives that are another drive over again, and a sentence for each that is left out.

    CompareError where that leaves a side without a drive.
    """
    kept: tuple[list[DriveResult], list[DriveResult]] = ([], [])
    said: list[Told] = []
    for side, drives in zip(kept, (before, after), strict=True):
        for drive in drives:
            twin = next((k for some in kept for k in some if shared_log(drive, k)), None)
            if twin is None:
                side.append(drive)
            else:
                said.append(_say(drive, twin))
    if not all(kept):
        raise CompareError(f"{said[0]}; give a drive of its own")
    return *kept, tuple(said)


def _say(drive: DriveResult, twin: DriveResult) -> Told:
    name, other, log = drive.head.id, twin.head.id, shared_log(drive, twin)
    said = f"drive {name} is left out: its log {log} is that of {other} as well, and one drive counts once"
    return tell("caveat.same_drive", said, name=name, other=other, log=log)
