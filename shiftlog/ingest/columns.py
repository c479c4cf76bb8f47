"""Which column of a log holds which channel, by the drive's own mapping and by ``channel [unit]`` headers."""

from dataclasses import dataclass

from shiftlog.errors import LogError
from shiftlog.ingest.channels import CHANNELS
from shiftlog.ingest.header_names import plain_channel, split_header
from shiftlog.ingest.units import Unit, unit_for


@dataclass(frozen=True, kw_only=True)
class ColumnWish:
    """One line of ``[recording.columns]``; ``unit`` None: the header's own."""

    channel: str
    column: str
    unit: str | None = None
    grows: str | None = None


@dataclass(frozen=True, kw_only=True)
class ColumnMatch:
    """A channel, the index of its column, and its unit; None for a time whose unit shows in its values."""

    channel: str
    index: int
    unit: Unit | None
    grows: str | None = None


@dataclass(frozen=True, kw_only=True)
class ColumnMatches:
    """Time, the channels in the order of the file, and the headers of what is no channel."""

    time: ColumnMatch
    channels: tuple[ColumnMatch, ...]
    ignored: tuple[str, ...]


def match_columns(header: tuple[str, ...], wishes: tuple[ColumnWish, ...], *, file: str) -> ColumnMatches:
    """Matches the columns of a log.

    LogError where a mapped column is not there, a channel stands twice, a unit is missing or not known, there is
    no time, or no channel at all.
    """
    found = [_wished(wish, header, file) for wish in wishes]
    taken = {match.index for match in found}
    wished = {match.channel for match in found}
    for index, text in enumerate(header):
        channel = plain_channel(split_header(text).name)
        if channel and index not in taken and channel not in wished:
            found.append(_headed(channel, index, text, file))
    _check_twice(found, header, file)
    used = {match.index for match in found}
    ignored = tuple(text for index, text in enumerate(header) if index not in used and text)
    time = next((match for match in found if match.channel == "time"), None)
    channels = sorted((m for m in found if m.channel != "time"), key=lambda m: m.index)
    if time is None:
        raise LogError(
            f"{file}: no time column. Name it time [s], or map it under [recording.columns]; "
            f"the columns are {_listed(header)}."
        )
    if not channels:
        raise LogError(f"{file}: no channel among its columns {_listed(header)}. Map them under [recording.columns].")
    return ColumnMatches(time=time, channels=tuple(channels), ignored=ignored)


def _wished(wish: ColumnWish, header: tuple[str, ...], file: str) -> ColumnMatch:
    exact = [i for i, text in enumerate(header) if text.strip() == wish.column.strip()]
    named = [i for i, text in enumerate(header) if split_header(text).name == wish.column.strip()]
    at = exact or named
    if not at:
        raise LogError(f'{file}: has no column "{wish.column}" for {wish.channel}; it has {_listed(header)}.')
    if len(at) > 1:
        raise LogError(f'{file}: the column "{wish.column}" for {wish.channel} is there twice. Rename one.')
    unit = wish.unit or split_header(header[at[0]]).unit
    where = f"{file}, column {wish.column}"
    return ColumnMatch(channel=wish.channel, index=at[0], unit=_unit(unit, wish.channel, where), grows=wish.grows)


def _headed(channel: str, index: int, text: str, file: str) -> ColumnMatch:
    unit = split_header(text).unit
    return ColumnMatch(channel=channel, index=index, unit=_unit(unit, channel, f"{file}, column {text}"))


def _unit(text: str | None, channel: str, where: str) -> Unit | None:
    kind = CHANNELS[channel]
    if text is None and channel == "time":
        return None
    text = text or kind.bare
    if text is None:
        raise LogError(f"{where}: names no unit. Write it in brackets behind the name, such as {_example(channel)}.")
    return unit_for(text, kind.quantities, where=where)


def _example(channel: str) -> str:
    examples = {"lever": "count", "share": "%", "acceleration": "m/s^2", "angular rate": "deg/s", "speed": "km/h"}
    quantity = CHANNELS[channel].quantities[0]
    return f"{channel} [{examples.get(quantity, CHANNELS[channel].inside)}]"


def _check_twice(found: list[ColumnMatch], header: tuple[str, ...], file: str) -> None:
    for match in found:
        twice = [m for m in found if m.channel == match.channel]
        if len(twice) > 1:
            names = " and ".join(header[m.index] for m in twice)
            raise LogError(
                f"{file}: the channel {match.channel} twice, in columns {names}. "
                "Map the right one under [recording.columns]."
            )
        shared = [m for m in found if m.index == match.index]
        if len(shared) > 1:
            names = " and ".join(m.channel for m in shared)
            raise LogError(f"{file}: the column {header[match.index]} is given to {names}. Give it to one.")


def _listed(header: tuple[str, ...]) -> str:
    names = [text for text in header if text]
    return ", ".join(names[:12]) + (f" and {len(names) - 12} more" if len(names) > 12 else "")
