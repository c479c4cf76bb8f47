"""The records of a binary log put in order: one part for each start of the recorder, with what is missing in it."""

from dataclasses import dataclass

from shiftlog.errors import LogError
from shiftlog.ingest.formats.frame_header import FrameHeader
from shiftlog.ingest.formats.frame_records import EVEN, STAMPED, FrameFile, FrameRecord

_COUNTER_US = 1 << 40
"""Where counter and count of wraps together begin anew: after 12.7 days."""

_SEQUENCES = 1 << 16
_WRAP_US = 60_000_000
"""65,536 records last longer than that at a thousand a second, and no recorder writes so many."""

_SHUFFLED_US = 1_000_000
"""Records may be written up to a second out of order; a step back of the sequence over a longer time is a wrap."""


@dataclass(frozen=True, kw_only=True)
class FramePart:
    """What the recorder wrote between one start and the next, without copies.

    at : its first byte in the file; records : in order of time, or of the file where starts cannot be told apart
    counters_us : of each record, wraps undone; lost : records that the sequence numbers miss; repeated : copies dropped
    """

    at: int
    header: FrameHeader
    records: tuple[FrameRecord, ...]
    counters_us: tuple[int, ...]
    lost: int
    repeated: int


def find_parts(found: FrameFile, *, file: str) -> tuple[FramePart, ...]:
    """The parts of a file that hold samples, in its order.

    LogError where there is no header, no sample, more than one recorder, or other channels after a restart.
    """
    layouts: dict[int, list[FrameRecord]] = {}
    for record in found.records:
        layouts.setdefault(record.layout, []).append(record)
    parts = []
    for layout, records in layouts.items():
        header = found.headers[layout]
        one_start = header.session != 0 and not _contradict(records)
        starts = [records] if one_start else _split_starts(records)
        parts += [_part(header, start, one_start=one_start) for start in starts if _has_samples(start)]
    if not parts:
        raise LogError(f"{file}: {_nothing(found)}")
    for part in parts[1:]:
        _check_same(parts[0], part, file)
    return tuple(parts)


def _has_samples(records: list[FrameRecord]) -> bool:
    return any(record.kind in (EVEN, STAMPED) for record in records)


def _nothing(found: FrameFile) -> str:
    if found.headers:
        return "holds a header and no samples. Record it again, or leave it out."
    if found.unfit:
        return "holds no header record, so its channels are not known. Record at least until the header is repeated."
    return "holds no frame with a right checksum. Copy it from the recorder again, or leave it out."


def _content(record: FrameRecord) -> tuple[int, int, bytes]:
    """What a record holds besides its sequence number."""
    return record.kind, record.counter_us, record.body


def _contradict(records: list[FrameRecord]) -> bool:
    """Whether two starts gave themselves one session, as a number drawn from noise may: a sequence number comes again,
    too soon for a wrap, and with something else."""
    first: dict[int, FrameRecord] = {}
    for record in records:
        other = first.setdefault(record.sequence, record)
        if (
            _content(other) != _content(record)
            and abs(_signed(record.counter_us - other.counter_us, _COUNTER_US)) < _WRAP_US
        ):
            return True
    return False


def _split_starts(records: list[FrameRecord]) -> list[list[FrameRecord]]:
    """The records of a recorder whose session tells no starts apart, a list for each as far as copies tell them.

    A block that was written twice is followed by what is new. A recorder that began anew may repeat its first records
    byte for byte, but then goes on otherwise under numbers that it has used before.
    """
    starts: list[list[FrameRecord]] = [[]]
    seen: dict[int, set[tuple[int, int, bytes]]] = {}
    copies_from: int | None = None
    high = records[0].counter_us
    for record in records:
        content = _content(record)
        before = seen.setdefault(record.sequence, set())
        now = starts[-1]
        trodden = _signed(record.counter_us - high, _COUNTER_US) <= 0
        if content in before:
            copies_from = len(now) if copies_from is None else copies_from
        elif copies_from is not None and before and trodden:
            starts.append(now[copies_from:])
            del now[copies_from:]
            seen = {r.sequence: {_content(r)} for r in starts[-1]}
            seen.setdefault(record.sequence, set()).add(content)
            copies_from, high = None, record.counter_us
        else:
            before.add(content)
            # What fills a hole within a block written twice does not end it.
            copies_from = copies_from if trodden else None
            high = high if trodden else record.counter_us
        starts[-1].append(record)
    return starts


def _part(header: FrameHeader, records: list[FrameRecord], *, one_start: bool) -> FramePart:
    kept, seen = [], set()
    for record in records:
        key = record.sequence, _content(record)
        if key not in seen:
            seen.add(key)
            kept.append(record)
    first = kept[0].counter_us
    timed = [(first + _signed(r.counter_us - first, _COUNTER_US), r) for r in kept]
    if one_start:
        timed.sort(key=lambda pair: pair[0])
    return FramePart(
        at=min(record.at for record in kept),
        header=header,
        records=tuple(record for _, record in timed),
        counters_us=tuple(counter for counter, _ in timed),
        lost=_count_lost(timed),
        repeated=len(records) - len(kept),
    )


def _count_lost(timed: list[tuple[int, FrameRecord]]) -> int:
    """How many sequence numbers are missing; a hole of more than 65,535 records shows its remainder only."""
    place, places = 0, {0}
    for (before, last), (now, record) in zip(timed, timed[1:], strict=False):
        step = (record.sequence - last.sequence) % _SEQUENCES
        if now < before:
            # The recorder started anew, or something was moved: what lies between is not known.
            step = 1
        elif now - before < _SHUFFLED_US:
            step = _signed(step, _SEQUENCES)
        place += step
        places.add(place)
    return max(places) - min(places) + 1 - len(places)


def _signed(difference: int, period: int) -> int:
    """A difference of counters that begin anew after ``period``, as the shorter way round."""
    return (difference + period // 2) % period - period // 2


def _check_same(first: FramePart, part: FramePart, file: str) -> None:
    here, there = first.header, part.header
    if (here.device, here.place) != (there.device, there.place):
        raise LogError(
            f"{file}, byte {part.at}: holds frames of two recorders, {here.device} at the {here.place} and "
            f"{there.device} at the {there.place}. Save each recorder in a file of its own."
        )
    if here.channels != there.channels:
        raise LogError(f"{file}, byte {part.at}: other channels than before. Split the file there.")
