"""The track points of a GPX file (1.0 or 1.1), as they are streamed from its XML.

Plain Python on bytes, without arrays. A GPX has no document type; a file that brings one is refused, so that no entity
can be expanded.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from xml.parsers import expat


class GpxFault(Exception):
    """What is wrong with the XML, and on which line."""


@dataclass(frozen=True, kw_only=True)
class TrackPoint:
    """One point: time since 1970 [s], latitude and longitude [deg], speed [m/s]; None where it is not said."""

    time_s: float | None
    latitude: float | None
    longitude: float | None
    speed_mps: float | None


@dataclass
class _State:
    point: dict[str, str] | None = None
    text: list[str] = field(default_factory=list)


def read_points(
    blocks: Iterable[bytes], take: Callable[[TrackPoint], None], *, encoding: str | None = None
) -> str | None:
    """Calls ``take`` for each track point. GpxFault where the XML declares a document type.

    encoding : that of the blocks, whatever the XML declares; None where its declaration holds.
    Returns what broke the file off, None where it is whole: a pulled plug leaves the points before it.
    """
    parser = expat.ParserCreate(encoding, namespace_separator=" ")
    state = _State()
    parser.StartDoctypeDeclHandler = _refuse
    parser.StartElementHandler = lambda name, attributes: _start(state, name, attributes)
    parser.EndElementHandler = lambda name: _end(state, name, take)
    parser.CharacterDataHandler = lambda text: state.text.append(text) if state.point is not None else None
    try:
        for block in blocks:
            parser.Parse(block, False)
        parser.Parse(b"", True)
    except expat.ExpatError as error:
        return f"it is cut short or damaged at line {error.lineno}"
    return None


def _refuse(*_: object) -> None:
    raise GpxFault("it declares a document type, which no GPX has")


def _plain(name: str) -> str:
    return name.rpartition(" ")[2].lower()


def _start(state: _State, name: str, attributes: dict[str, str]) -> None:
    if _plain(name) == "trkpt":
        state.point = {key.lower(): value for key, value in attributes.items()}
    state.text = []


def _end(state: _State, name: str, take: Callable[[TrackPoint], None]) -> None:
    if state.point is None:
        return
    plain = _plain(name)
    if plain == "trkpt":
        take(_point(state.point))
        state.point = None
    elif plain in ("time", "speed"):
        # The first one counts: an extension may repeat what the point itself says.
        state.point.setdefault(plain, "".join(state.text).strip())
    state.text = []


def _point(said: dict[str, str]) -> TrackPoint:
    return TrackPoint(
        time_s=_time(said.get("time")), latitude=_number(said.get("lat"), 90),
        longitude=_number(said.get("lon"), 180), speed_mps=_number(said.get("speed"), 1000),
    )  # fmt: skip


def _time(text: str | None) -> float | None:
    try:
        moment = datetime.fromisoformat(text or "")
    except ValueError:
        return None
    return (moment if moment.tzinfo else moment.replace(tzinfo=UTC)).timestamp()


def _number(text: str | None, most: float) -> float | None:
    try:
        value = float(text or "")
    except ValueError:
        return None
    return value if abs(value) <= most else None
