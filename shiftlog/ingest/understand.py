"""Reads a bare log's header as a technician would: what each column holds, and what must be asked."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from shiftlog.errors import LogError, UnclearLog
from shiftlog.ingest.add_options import LEAVE_OUT, LogOptions
from shiftlog.ingest.channels import CHANNELS
from shiftlog.ingest.columns import ColumnWish
from shiftlog.ingest.day_numbers import refuse_day_numbers
from shiftlog.ingest.guess_units import guess_acceleration_unit, guess_rate_unit, guess_share_unit
from shiftlog.ingest.header_names import plain_channel, split_header
from shiftlog.ingest.headers import HeaderGuess, recognise_header
from shiftlog.ingest.sheet import Sheet, Table
from shiftlog.ingest.time_unit import guess_time_units
from shiftlog.ingest.units import find_unit, plain_unit, unit_for

_NEEDED = ("time", "accel", "gyro", "select", "engage", "engine_speed", "vehicle_speed")
"""Where a unit is in doubt these are asked for; the others are left out, with a line."""

_NAMED = 20

_READS_AS = {"share": "a share (% or 1)"}


@dataclass(frozen=True, eq=False, kw_only=True)
class Understood:
    """What a log holds.

    wishes : a line of the mapping for each channel whose header does not follow ``channel [unit]``
    found : channel → column and unit, for the eye; lines : what was concluded, and what was left
    """

    wishes: tuple[ColumnWish, ...]
    found: dict[str, str]
    lines: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class _Pick:
    """A channel, its column, and the unit, None while it is not known."""

    channel: str
    header: str
    index: int
    unit: str | None


def understand_log(path: Path, sheet: Sheet, options: LogOptions) -> Understood:
    """Recognises the columns of a log. LogError, naming the option that settles it, where two readings are possible."""
    _check_headers(sheet, options, path.name)
    lines: list[str] = []
    guesses = [_settled(recognise_header(text), options) for text in sheet.header]
    guesses = [_by_file_name(guess, path) for guess in guesses]
    picks = [p for i, g in enumerate(guesses) if (p := _pick(g, i, options, path.name, lines)) is not None]
    picks = _one_time(picks, path.name, lines)
    _check_twice(picks, sheet, path.name)
    picks = _with_units(picks, path, sheet, lines)
    left = [guess.header for guess in guesses if guess.header and not guess.channels]
    if left:
        lines.append(f"{path.name}: left out, as they are no channel: {_listed(left)}.")
    return Understood(
        wishes=tuple(_wish(pick, options) for pick in picks if not _follows(pick, options)),
        found={pick.channel: _shown(pick) for pick in picks},
        lines=tuple(lines),
    )


def _check_headers(sheet: Sheet, options: LogOptions, file: str) -> None:
    for header in [*options.columns, *options.units]:
        if header not in sheet.header and header not in [split_header(h).name for h in sheet.header]:
            raise LogError(f'{file}: has no column "{header}"; it has {_listed([h for h in sheet.header if h])}.')


def _listed(names: list[str]) -> str:
    """A bus has hundreds of signals; a technician reads the first of them."""
    return ", ".join(names[:_NAMED]) + (f" and {len(names) - _NAMED} more" if len(names) > _NAMED else "")


def _settled(guess: HeaderGuess, options: LogOptions) -> HeaderGuess:
    """The guess as the options settle it."""
    names = (guess.header, split_header(guess.header).name)
    for name in names:
        if name in options.columns:
            channel, unit = options.columns[name]
            channels = () if channel == LEAVE_OUT else (channel,)
            return HeaderGuess(header=guess.header, channels=channels, unit=unit or _own_unit(guess, channels))
    for name in names:
        if name in options.units:
            fitting = tuple(c for c in guess.channels if find_unit(options.units[name], CHANNELS[c].quantities))
            channels = fitting or guess.channels
            return HeaderGuess(header=guess.header, channels=channels, unit=options.units[name], misfit=not fitting)
    if {c for c, _ in options.columns.values()} & set(guess.channels):
        # The channel was given to another column.
        taken = {c for c, _ in options.columns.values()}
        return replace(guess, channels=tuple(c for c in guess.channels if c not in taken))
    return guess


def _own_unit(guess: HeaderGuess, channels: tuple[str, ...]) -> str | None:
    """The unit that the header of a column given to a channel names itself, where that channel can take it."""
    named = split_header(guess.header).unit or ""
    fits = any(find_unit(named, CHANNELS[channel].quantities) for channel in channels)
    return guess.unit or (named if fits else None)


def _by_file_name(guess: HeaderGuess, path: Path) -> HeaderGuess:
    """``X`` without a unit is told by the sensor in the file's name."""
    if len(guess.channels) < 2:
        return guess
    stem = path.stem.lower()
    sensor = "accel_" if "accel" in stem else "gyro_" if "gyro" in stem else None
    fitting = tuple(c for c in guess.channels if sensor and c.startswith(sensor))
    return replace(guess, channels=fitting) if fitting else guess


def _pick(guess: HeaderGuess, index: int, options: LogOptions, file: str, lines: list[str]) -> _Pick | None:
    if not guess.channels:
        return None
    channel = guess.channels[0]
    if guess.misfit:
        return _misfit(guess, file, lines)
    if len(guess.channels) > 1:
        ways = " or ".join(f'--column "{guess.header}={c}"' for c in guess.channels)
        raise UnclearLog(f"{file}, column {guess.header}: may be {' or '.join(guess.channels)}. Say {ways}.")
    return _Pick(channel=channel, header=guess.header, index=index, unit=guess.unit)


def _misfit(guess: HeaderGuess, file: str, lines: list[str]) -> None:
    channel = guess.channels[0]
    kind = CHANNELS[channel]
    fitting = _READS_AS.get(kind.quantities[0], kind.quantities[0])
    if channel.startswith(_NEEDED) and plain_unit(guess.unit or "") is None:
        unit_for(guess.unit or "", kind.quantities, where=f"{file}, column {guess.header}")
    lines.append(
        f"{file}: {guess.header} looks like {channel}, but {plain_unit(guess.unit or '') or guess.unit} "
        f"is no unit of {fitting}; left out."
    )


def _one_time(picks: list[_Pick], file: str, lines: list[str]) -> list[_Pick]:
    """Of several times the one with a known unit, then the one whose name is plainest; the others are said."""
    times = [p for p in picks if p.channel == "time"]
    if len(times) < 2:
        return picks
    best = min(times, key=lambda p: (p.unit is None, "utc" in p.header.lower(), p.index))
    others = [p.header for p in times if p is not best]
    lines.append(f"{file}: time is taken from {best.header}, not from {', '.join(others)}.")
    return [p for p in picks if p.channel != "time" or p is best]


def _check_twice(picks: list[_Pick], sheet: Sheet, file: str) -> None:
    for pick in picks:
        twins = [p.header for p in picks if p.channel == pick.channel]
        if len(twins) > 1:
            if len(set(twins)) < len(twins):
                raise UnclearLog(f"{file}: two columns are both headed {twins[0]}. Rename one in a copy of the log.")
            ways = " or ".join(f'--column "{header}={pick.channel}"' for header in twins)
            raise UnclearLog(f"{file}: the channel {pick.channel} twice, in {' and '.join(twins)}. Say {ways}.")
    if not any(p.channel == "time" for p in picks):
        raise LogError(f'{file}: no time column found. Say which it is with --column "COLUMN=time:ms".')
    if len(picks) < 2:
        raise LogError(
            f"{file}: no channel recognised among its columns {_listed([h for h in sheet.header if h])}. "
            f"Channels are {', '.join(CHANNELS)}. Say what its columns hold with --column COLUMN=CHANNEL:UNIT."
        )


def _with_units(picks: list[_Pick], path: Path, sheet: Sheet, lines: list[str]) -> list[_Pick]:
    """Units that no header names, out of the numbers; asked for where they leave two readings."""
    open_picks = [p for p in picks if p.unit is None and CHANNELS[p.channel].bare is None]
    if not open_picks:
        return picks
    time = next(p for p in picks if p.channel == "time")
    columns = [p.index for p in open_picks if p.channel != "time"]
    table = sheet.read(time.index, columns)
    units = {pick.index: _unit_from_values(pick, open_picks, table, columns) for pick in open_picks}
    for pick in open_picks:
        if units[pick.index] is None:
            _ask_or_leave(pick, path.name, lines, table)
    lines += _told(open_picks, units, path.name)
    known = [replace(p, unit=units[p.index]) if p.index in units else p for p in picks]
    return [p for p in known if p.unit is not None or CHANNELS[p.channel].bare is not None]


def _told(picks: list[_Pick], units: dict[int, str | None], file: str) -> list[str]:
    told: dict[str, list[str]] = {}
    for pick in picks:
        unit = units[pick.index]
        if unit not in (None, "ISO 8601"):
            told.setdefault(unit, []).append(pick.header)
    return [f"{file}: no unit named for {', '.join(h)}; taken as {u} from the numbers." for u, h in told.items()]


def _unit_from_values(pick: _Pick, picks: list[_Pick], table: Table, columns: list[int]) -> str | None:
    channel = pick.channel
    if channel == "time":
        units = guess_time_units(table.time)
        return "ISO 8601" if table.time_is_text else units[0].name if len(units) == 1 else None
    if channel in ("select", "engage"):
        return "count"
    family = channel[:-2]
    if family in ("accel", "gyro"):
        axes = _columns(table, columns, [p for p in picks if p.channel.startswith(family)])
        if family == "gyro":
            return guess_rate_unit(axes)
        return guess_acceleration_unit(axes) if axes.shape[1] == 3 else None
    if CHANNELS[channel].quantities == ("share",):
        return guess_share_unit(_columns(table, columns, [pick])[:, 0])
    return None


def _columns(table: Table, columns: list[int], picks: Iterable[_Pick]) -> np.ndarray:
    return table.values[:, [columns.index(p.index) for p in picks]]


def _ask_or_leave(pick: _Pick, file: str, lines: list[str], table: Table) -> None:
    kind = CHANNELS[pick.channel]
    if pick.channel == "time":
        refuse_day_numbers(table.time, header=pick.header, file=file)
    units = _readings(pick, table)
    mend = f'--unit "{pick.header}={units[0]}"'
    if pick.channel.startswith(_NEEDED):
        raise UnclearLog(
            f"{file}, column {pick.header}: names no unit; it may be in {' or '.join(units)}. "
            f"Say which, such as {mend}."
        )
    lines.append(f"{file}: {pick.header} names no unit of {kind.quantities[0]}; left out. {mend} takes it.")


def _readings(pick: _Pick, table: Table) -> list[str]:
    if pick.channel == "time":
        return [u.name for u in guess_time_units(table.time)] or ["s", "ms", "us", "ns"]
    units = {
        "acceleration": ["m/s^2", "g"],
        "angular rate": ["deg/s", "rad/s"],
        "speed": ["km/h", "m/s", "mph"],
        "temperature": ["degC", "degF"],
        "share": ["%", "1"],
        "engine speed": ["rpm", "Hz"],
    }
    return units.get(CHANNELS[pick.channel].quantities[0], ["N"])


def _follows(pick: _Pick, options: LogOptions) -> bool:
    """Whether the header already says everything in the format's own words."""
    parts = split_header(pick.header)
    if plain_channel(parts.name) != pick.channel or pick.channel in options.grows:
        return False
    if pick.unit == "ISO 8601":
        return True
    own = parts.unit or CHANNELS[pick.channel].bare
    return own is not None and plain_unit(own) == plain_unit(pick.unit or own)


def _wish(pick: _Pick, options: LogOptions) -> ColumnWish:
    unit = plain_unit(pick.unit) if pick.unit else None
    grows = options.grows.get(pick.channel)
    return ColumnWish(channel=pick.channel, column=pick.header, unit=unit, grows=grows)


def _shown(pick: _Pick) -> str:
    unit = plain_unit(pick.unit or CHANNELS[pick.channel].bare or "")
    unit = "clock time" if unit == "ISO 8601" else unit
    said = pick.unit is not None and any(f"{a}{pick.unit}{b}" in pick.header for a, b in ("()", "[]"))
    return f"{pick.header} ({unit})" if unit and not said else pick.header
