"""A DBC, read with cantools, to where its signals lie."""

from collections import Counter
from pathlib import Path

from shiftlog.errors import LogError
from shiftlog.ingest.formats.bus_signal import BusSignal
from shiftlog.ingest.optional import load_extra
from shiftlog.ingest.text_bytes import find_encoding, narrow


def read_dbc(path: Path, *, file: str) -> tuple[BusSignal, ...]:
    """The signals of a DBC. LogError where it is none, or cantools is not installed.

    file : the log that is to be decoded, for the message
    """
    cantools = load_extra("cantools", extra="can", file=file)
    try:
        # Real ones overlap here and there, and one odd message must not cost the others.
        base = cantools.database.load_string(_text(path.read_bytes()), database_format="dbc", strict=False)
    except FileNotFoundError:
        raise LogError(f"{path.name}: there is no such file. Put it there, or mend the name.") from None
    except (OSError, ValueError, cantools.database.UnsupportedDatabaseFormatError, cantools.database.Error) as error:
        raise LogError(f"{path.name}: cannot be read as a DBC ({' '.join(str(error).split())}).") from None
    messages = list(base.messages)
    names = Counter(signal.name for message in messages for signal in message.signals)
    found = []
    for message in messages:
        own: dict[str, BusSignal] = {}
        for signal in message.signals:
            plain = names[signal.name] == 1 and signal.name.lower() != "time"
            name = signal.name if plain else f"{message.name}.{signal.name}"
            found.append(_signal(signal, message, name, own))
    return tuple(found)


def _text(content: bytes) -> str:
    """UTF-16 or UTF-8 where it is that, else what Windows programs write."""
    try:
        return narrow(content, find_encoding(content[:4096])).decode("utf-8-sig")
    except UnicodeDecodeError:
        return content.decode("cp1252", errors="replace")


def _signal(signal, message, name: str, own: dict[str, BusSignal]) -> BusSignal:
    """One signal of cantools; ``own`` holds those of its message that were made before, by their plain names."""
    made = BusSignal(
        name=name, identifier=message.frame_id, extended=message.is_extended_frame, start=signal.start,
        length=signal.length, little=signal.byte_order == "little_endian", signed=signal.is_signed,
        floating=signal.is_float, scale=float(signal.scale), offset=float(signal.offset), unit=signal.unit or None,
        low=_bound(signal.minimum), high=_bound(signal.maximum), selector=_selector(signal, message, own),
    )  # fmt: skip
    own[signal.name] = made
    return made


def _bound(value: float | None) -> float | None:
    return None if value is None else float(value)


def _selector(signal, message, own: dict[str, BusSignal]) -> tuple[BusSignal, tuple[int, ...]] | None:
    if not signal.multiplexer_ids:
        return None
    name = signal.multiplexer_signal
    if name not in own:
        chooser = message.get_signal_by_name(name)
        _signal(chooser, message, name, own)
    return own[name], tuple(signal.multiplexer_ids)
