"""What the user may settle when logs are added, in the words of the command line.

Each option may be given several times. FILE is a log's file name; with one log, or for all logs alike, it may be
left out together with its mark.

    --column  [FILE::]COLUMN=CHANNEL[:UNIT]   this column holds that channel; CHANNEL ``-`` leaves it out
    --unit    [FILE::]COLUMN=UNIT             the unit of a column that is known already
    --grows   [FILE::]AXIS=DIRECTION          select=right or left, engage=forward or rearward
    --place   [FILE=]PLACE                    lever, tower, gearbox, body, engine or pedal
    --clock   [FILE=]NAME                     logs that name one clock share it
    --offset  [FILE=]SECONDS                  clock_offset_s: recorder time = drive time + SECONDS
    --mounting [FILE=]AXES                    the sensor axes that point forward, left and up, as in ``y,-x,z``;
                                              or the nine numbers of the rotation, row by row
    --decode  [FILE=]PATH                     the DBC or TOML that says what the frames of a bus trace hold
"""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from shiftlog.errors import LogError
from shiftlog.ingest.channels import CHANNELS, LEVER_AXES
from shiftlog.model.recording import PLACES

LEAVE_OUT = "-"

_TYPED = 0.03
"""How far the determinant of a rotation typed with two decimals may lie from 1."""


@dataclass(frozen=True, kw_only=True)
class AddOptions:
    """The options as typed, each a tuple of texts in the grammar above."""

    column: tuple[str, ...] = ()
    unit: tuple[str, ...] = ()
    grows: tuple[str, ...] = ()
    place: tuple[str, ...] = ()
    clock: tuple[str, ...] = ()
    offset: tuple[str, ...] = ()
    mounting: tuple[str, ...] = ()
    decode: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False, kw_only=True)
class LogOptions:
    """What was settled for one log; ``columns`` maps a header to channel and unit (or None)."""

    columns: dict[str, tuple[str, str | None]]
    units: dict[str, str]
    grows: dict[str, str]
    place: str | None
    clock: str | None
    offset_s: float | None
    mounting: list[list[float]] | None
    decode: Path | None = None


def options_for(log: Path, options: AddOptions) -> LogOptions:
    """The options that concern one log. LogError, naming the option, where one cannot be read."""
    units = [_pair(text, "unit") for text in _for_column(log, options.unit)]
    grows = [_pair(text, "grows") for text in _for_column(log, options.grows)]
    place = _last(log, options.place)
    if place is not None and place not in PLACES:
        raise LogError(f"--place {place}: is no place; places are {', '.join(PLACES)}.")
    for axis, direction in grows:
        if direction not in LEVER_AXES.get(axis, ()):
            raise LogError(f"--grows {axis}={direction}: write select=right or left, engage=forward or rearward.")
    mounting = _last(log, options.mounting)
    return LogOptions(
        columns=dict(_column(text) for text in _for_column(log, options.column)),
        units=dict(units),
        grows=dict(grows),
        place=place,
        clock=_last(log, options.clock),
        offset_s=_seconds(_last(log, options.offset)),
        mounting=None if mounting is None else _mounting(mounting),
        decode=_file(_last(log, options.decode)),
    )


def check_files(logs: Sequence[Path], options: AddOptions) -> None:
    """LogError where an option names a file that is none of the logs."""
    names = {log.name for log in logs}
    marked = [t.split("::")[0] for t in (*options.column, *options.unit, *options.grows) if "::" in t]
    plain = (*options.place, *options.clock, *options.offset, *options.mounting, *options.decode)
    for name in [*marked, *(t.split("=")[0] for t in plain if "=" in t)]:
        if name not in names:
            raise LogError(f"{name}: an option names this file, and the logs are {', '.join(sorted(names))}.")


def _for_column(log: Path, texts: tuple[str, ...]) -> list[str]:
    split = [text.rpartition("::") for text in texts]
    return [rest for file, _, rest in split if file in ("", log.name)]


def _last(log: Path, texts: tuple[str, ...]) -> str | None:
    split = [text.rpartition("=") for text in texts]
    found = [rest.strip() for file, _, rest in split if file in ("", log.name)]
    return found[-1] if found else None


def _pair(text: str, option: str) -> tuple[str, str]:
    name, mark, value = text.rpartition("=")
    if not mark or not name.strip() or not value.strip():
        raise LogError(f'--{option} "{text}": write it as NAME=VALUE.')
    return name.strip(), value.strip()


def _column(text: str) -> tuple[str, tuple[str, str | None]]:
    header, value = _pair(text, "column")
    channel, _, unit = value.partition(":")
    if channel != LEAVE_OUT and channel not in CHANNELS:
        raise LogError(f'--column "{text}": {channel} is no channel; channels are {", ".join(CHANNELS)}.')
    return header, (channel, unit or None)


def _seconds(text: str | None) -> float | None:
    if text is None:
        return None
    try:
        seconds = float(text)
    except ValueError:
        seconds = np.nan
    if not np.isfinite(seconds):
        raise LogError(f"--offset {text}: is no number of seconds; write it as 3.25.")
    return seconds


def _file(text: str | None) -> Path | None:
    if text is not None and not Path(text).is_file():
        raise LogError(f"--decode {text}: there is no such file. Name a DBC (.dbc) or a TOML with [[signal]] entries.")
    return None if text is None else Path(text)


def _mounting(text: str) -> list[list[float]]:
    """Rows: vehicle x, y, z in sensor axes."""
    parts = [part.strip().lower() for part in text.split(",")]
    try:
        if len(parts) == 9:
            return [[float(part) for part in parts[at : at + 3]] for at in (0, 3, 6)]
        rows = [[_sign(part) if axis == part[-1] else 0.0 for axis in "xyz"] for part in parts]
    except (ValueError, IndexError):
        rows = []
    if len(rows) != 3 or abs(np.linalg.det(np.array(rows)) - 1) > _TYPED:
        raise LogError(
            f"--mounting {text}: write the sensor axes that point forward, left and up, such as y,-x,z "
            "(right-handed: forward, left and up in this order), or nine numbers."
        )
    return rows


def _sign(part: str) -> float:
    if part[:-1] not in ("", "+", "-"):
        raise ValueError(part)
    return -1.0 if part.startswith("-") else 1.0
