"""Real logs (shared data; each folder's SOURCE.txt says where they come from), damaged as logs are damaged.

What is mended must be counted and must give what the undamaged log gives; what is refused is refused in one line that
names the file, the row and the mend.
"""

import random
import re
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import numpy as np
import pytest

from shiftlog.errors import LogError
from shiftlog.ingest.add import plan_drive, write_drive
from shiftlog.ingest.drive_file import read_drive
from shiftlog.model.recording import Recording
from shiftlog.units import STANDARD_GRAVITY_MPS2
from tests.ingest.frame_writer import FrameWriter
from tests.open_data.real_logs import LOGS, RealLog, joined, read_log_bytes, seconds_of, with_times

pytestmark = pytest.mark.open_data

every_log = pytest.mark.parametrize("name", LOGS)
READ: dict[RealLog, Recording] = {}
"""Each undamaged log, read once."""


class Bench:
    """One log, its lines, and what it gives undamaged."""

    def __init__(self, log: RealLog, open_data: Path, folder: Path) -> None:
        self.log, self.folder, self.lines = log, folder, log.lines(open_data)
        if log not in READ:
            (folder / "clean").mkdir()
            READ[log] = read_log_bytes(joined(self.lines), folder / "clean", log)
        self.clean = READ[log]

    def read(self, content: bytes | list[str], **options: bool):
        return read_log_bytes(
            joined(content) if isinstance(content, list) else content, self.folder, self.log, **options
        )

    def assert_same(self, damaged, *, mended: dict[str, int], kept: np.ndarray | None = None) -> None:
        """The damaged log gives the undamaged one's samples, or those of them that are ``kept``, and these counts."""
        kept = np.arange(self.clean.time_s.size) if kept is None else kept
        added = {k: v for k, v in damaged.quality.mended.items() if self.clean.quality.mended.get(k) != v}
        assert added == mended
        assert [c.name for c in damaged.channels] == [c.name for c in self.clean.channels]
        np.testing.assert_allclose(damaged.time_s, self.clean.time_s[kept], rtol=0, atol=1e-6)
        np.testing.assert_allclose(damaged.values, self.clean.values[kept], rtol=1e-12, atol=1e-12)


@pytest.fixture
def bench(name: str, open_data: Path, tmp_path: Path) -> Bench:
    return Bench(LOGS[name], open_data, tmp_path)


def comma_to(separator: str, *, decimal: str = "."):
    def damage(lines: list[str]) -> bytes:
        head = lines[0].replace(";", " ").replace(",", separator)
        rows = [separator.join(cell.replace(".", decimal) for cell in line.split(",")) for line in lines[1:]]
        return joined([head, *rows])

    return damage


FORMS = {
    "semicolons": comma_to(";"),
    "tabs": comma_to("\t"),
    "bars": comma_to("|"),
    "blanks around semicolons": comma_to(" ; "),
    "blanks around commas": comma_to(" ,  "),
    "decimal commas": comma_to(";", decimal=","),
    "decimal commas and tabs": comma_to("\t", decimal=","),
    "a byte-order mark": lambda lines: b"\xef\xbb\xbf" + joined(lines),
    "UTF-16 with its mark": lambda lines: joined(lines).decode().encode("utf-16"),
    "UTF-16, big end first": lambda lines: b"\xfe\xff" + joined(lines).decode().encode("utf-16-be"),
    "UTF-16 without a mark": lambda lines: joined(lines).decode().encode("utf-16-le"),
    "Latin-1": lambda lines: joined(lines).decode().encode("latin-1"),
    "line ends of two bytes": lambda lines: joined(lines, end="\r\n"),
    "line ends of the other byte": lambda lines: joined(lines, end="\r"),
    "no line end at the end": lambda lines: joined(lines)[:-1],
    "comment lines on top": lambda lines: joined(["# recorded by a shop, run 3", "// kept, as it was", *lines]),
    "a preamble": lambda lines: joined(["Recorder of the shop", "Driver: B", "", *lines]),
    "empty lines": lambda lines: joined([lines[0], "", *lines[1:500], "", "", *lines[500:], "", ""]),
    "a separator at each row's end": lambda lines: joined([line + "," for line in lines]),
}


@every_log
@pytest.mark.parametrize("form", FORMS)
def test_another_form_of_writing_changes_nothing(bench: Bench, form: str) -> None:
    bench.assert_same(bench.read(FORMS[form](bench.lines)), mended={})


@every_log
def test_repeated_headers(bench: Bench) -> None:
    lines = bench.lines
    damaged = [*lines[:400], lines[0], *lines[400:401], lines[0], *lines[401:]]
    bench.assert_same(bench.read(damaged), mended={"repeated headers": 2})


@every_log
def test_comments_among_the_rows(bench: Bench) -> None:
    lines = bench.lines
    bench.assert_same(bench.read([*lines[:700], "# lap 2", *lines[700:]]), mended={"comment lines": 1})


@every_log
def test_rows_cut_short_by_a_pulled_plug(bench: Bench) -> None:
    lines = list(bench.lines)
    cut = [300, 301, 900, len(lines) - 1]
    for at in cut:
        lines[at] = ",".join(lines[at].split(",")[:2])[:-1]
    kept = np.delete(np.arange(len(lines) - 1), [at - 1 for at in cut])
    bench.assert_same(bench.read(joined(lines)[:-1]), mended={"rows cut short": 4}, kept=kept)


@every_log
def test_too_many_rows_cut_short(bench: Bench) -> None:
    lines = [line if at % 8 else ",".join(line.split(",")[:2]) for at, line in enumerate(bench.lines[1:], start=1)]
    with pytest.raises(LogError, match=rf"^{Path(bench.log.path).name}, row 9: 2 cells where .*Export the log again"):
        bench.read([bench.lines[0], *lines])


@every_log
def test_rows_out_of_order(bench: Bench) -> None:
    lines = list(bench.lines)
    for at in (200, 350, 900):
        lines[at], lines[at + 1] = lines[at + 1], lines[at]
    bench.assert_same(bench.read(lines), mended={"places out of order": 3})


@every_log
def test_a_block_of_rows_out_of_order(bench: Bench) -> None:
    lines = bench.lines
    moved = [*lines[:600], *lines[650:700], *lines[600:650], *lines[700:]]
    bench.assert_same(bench.read(moved), mended={"places out of order": 1})


@every_log
def test_duplicated_samples(bench: Bench) -> None:
    lines, chance = bench.lines, random.Random(1)
    twice = set(chance.sample(range(1, len(lines)), 60))
    damaged = [line for at, line in enumerate(lines) for _ in range(1 + (at in twice))]
    bench.assert_same(bench.read(damaged), mended={"duplicate rows": 60})


@every_log
def test_a_block_written_twice(bench: Bench) -> None:
    lines = bench.lines
    bench.assert_same(bench.read([*lines[:900], *lines[850:]]), mended={"duplicate rows": 50})


@pytest.mark.parametrize("name", ["track", "phone", "commute"])
def test_missing_samples_are_counted_as_dropped(bench: Bench) -> None:
    lines = list(bench.lines)
    gone = [*range(500, 520), 800, 1100]
    recording = bench.read([line for at, line in enumerate(lines) if at not in gone])
    bench.assert_same(recording, mended={}, kept=np.delete(np.arange(len(lines) - 1), [at - 1 for at in gone]))
    assert recording.quality.dropped - bench.clean.quality.dropped == pytest.approx(22, abs=1)
    assert len(recording.quality.gaps) - len(bench.clean.quality.gaps) == 1


@every_log
@pytest.mark.parametrize("word", ["", "nan", "NaN", "null", "NULL", "None", "n/a", "-"])
def test_words_for_no_value_are_missing_in_their_cell_alone(bench: Bench, word: str) -> None:
    lines = list(bench.lines)
    column = {"track": 5, "phone": 2, "imu": 3, "commute": 3}[name_of(bench)]
    channel = {"track": "accel_x", "phone": "accel_y", "imu": "accel_x", "commute": "engine_speed"}[name_of(bench)]
    held = np.flatnonzero(np.isfinite(bench.clean.column(channel)))[100:400:30]
    for at in held:
        cells = lines[at + 1].split(",")
        cells[column] = word
        lines[at + 1] = ",".join(cells)
    recording = bench.read(lines)
    expected = bench.clean.values.copy()
    expected[held, [c.name for c in recording.channels].index(channel)] = np.nan
    np.testing.assert_allclose(recording.values, expected, rtol=1e-12)
    np.testing.assert_allclose(recording.time_s, bench.clean.time_s)


def name_of(bench: Bench) -> str:
    return next(name for name, log in LOGS.items() if log is bench.log)


def time_column(bench: Bench) -> int:
    return 2 if name_of(bench) == "imu" else 0


RUBBISH = {
    "a burst": (b"\x00\xff\x13\x88\n", 1),
    "zeros of a card that was not closed": (b"\x00" * 512 + b"\n", 1),
    "half a sector": (bytes(range(128, 256)) + b"\n\xfe\x01,,,\n", 2),
}


@every_log
@pytest.mark.parametrize("kind", RUBBISH)
def test_bytes_of_rubbish_in_the_middle(bench: Bench, kind: str) -> None:
    rubbish, rows = RUBBISH[kind]
    lines = bench.lines
    recording = bench.read(joined(lines[:800]) + rubbish + joined(lines[800:]))
    bench.assert_same(recording, mended=recording.quality.mended)
    counted = {k: v for k, v in recording.quality.mended.items() if k.startswith("rows")}
    assert sum(counted.values()) == rows, counted


@every_log
def test_rubbish_inside_a_row_costs_that_row(bench: Bench) -> None:
    data = joined(bench.lines[:800]) + bench.lines[800].encode()[:9] + b"\x00\x01\x02" + bench.lines[800].encode()[9:]
    data += b"\n" + joined(bench.lines[801:])
    kept = np.delete(np.arange(len(bench.lines) - 1), 799)
    bench.assert_same(bench.read(data), mended={"rows of rubbish": 1}, kept=kept)


@every_log
def test_columns_nobody_knows_are_named_and_left(bench: Bench) -> None:
    lines = [f"{line},{'Luck [furlong]' if not at else 'fair'}" for at, line in enumerate(bench.lines)]
    recording = bench.read(lines)
    bench.assert_same(recording, mended={})
    assert set(recording.ignored) == {*bench.clean.ignored, "Luck [furlong]"}


@pytest.mark.parametrize(
    ("name", "column", "channel"), [("track", 7, "accel_z"), ("phone", 1, "accel_x"), ("imu", 6, "gyro_x")]
)
def test_a_stuck_channel_is_named(bench: Bench, column: int, channel: str) -> None:
    rows = [line.split(",") for line in bench.lines]
    for row in rows[1:]:
        row[column] = rows[1][column]
    assert channel not in bench.clean.quality.stuck
    assert channel in bench.read([",".join(row) for row in rows]).quality.stuck


@pytest.mark.parametrize(("name", "column", "end"), [("phone", 3, -1), ("imu", 5, 1), ("imu", 7, -1)])
def test_clipped_peaks_are_counted(bench: Bench, column: int, end: int) -> None:
    rows = [line.split(",") for line in bench.lines]
    values = np.array([float(row[column]) for row in rows[1:]])
    middle = np.median(values)
    # These logs keep several samples in a row beyond 4.5 standard deviations here.
    limit = middle + end * 4.5 * 1.4826 * np.median(np.abs(values - middle))
    beyond = end * values >= end * limit
    for row, value in zip(rows[1:], values, strict=True):
        row[column] = f"{end * min(end * value, end * limit):.9f}"
    quality = bench.read([",".join(row) for row in rows]).quality
    assert bench.clean.quality.clipped == 0
    assert quality.clipped == np.count_nonzero(beyond) > 3


# Every way to write time, the same seconds behind it.


def stamps(bench: Bench) -> np.ndarray:
    """The log's own times, whole microseconds from its start."""
    return np.round(seconds_of(bench.clean) * 1e6).astype(np.int64)


def iso(text: str, zone: timezone = UTC):
    start = datetime(2026, 10, 3, 23, 59, 30, tzinfo=zone)
    return lambda us: text.format(start + timedelta(microseconds=int(us))).replace("+0100", "+01:00")


DAY_US = 86_400_000_000
EPOCH_US = 1_791_072_000_000_000
TIMES = {
    "seconds": ("time [s]", lambda us: f"{us / 1e6:.6f}", {}),
    "milliseconds": ("time [ms]", lambda us: f"{us / 1e3:.3f}", {}),
    "microseconds": ("time [us]", lambda us: f"{us}", {}),
    "nanoseconds": ("time [ns]", lambda us: f"{us}000", {}),
    "microseconds that wrap": ("time [us]", lambda us: f"{(us + 2**32 - 9_000_000) % 2**32}", {"32-bit us wraps": 1}),
    "signed microseconds that wrap": (
        "time [us]", lambda us: f"{(us + 2**31 - 9_000_000 + 2**31) % 2**32 - 2**31}", {"32-bit us wraps": 1}
    ),
    "milliseconds that wrap": (
        "time [ms]", lambda us: f"{(us / 1e3 + 2**32 - 9_000) % 2**32:.3f}", {"32-bit ms wraps": 1}
    ),
    "seconds since 1970": ("time [s]", lambda us: f"{(us + EPOCH_US) / 1e6:.6f}", {}),
    "milliseconds since 1970": ("time [ms]", lambda us: f"{(us + EPOCH_US) / 1e3:.3f}", {}),
    "microseconds since 1970": ("time [us]", lambda us: f"{us + EPOCH_US}", {}),
    "nanoseconds since 1970": ("time [ns]", lambda us: f"{us + EPOCH_US}000", {}),
    "seconds since 1970, no unit named": ("timestamp", lambda us: f"{(us + EPOCH_US) / 1e6:.6f}", {}),
    "milliseconds since 1970, no unit named": ("timestamp", lambda us: f"{(us + EPOCH_US) / 1e3:.3f}", {}),
    "microseconds since 1970, no unit named": ("timestamp", lambda us: f"{us + EPOCH_US}", {}),
    "nanoseconds since 1970, no unit named": ("timestamp", lambda us: f"{us + EPOCH_US}000", {}),
    "ISO 8601": ("time", iso("{0:%Y-%m-%dT%H:%M:%S.%fZ}"), {}),
    "ISO 8601 with a zone": ("time", iso("{0:%Y-%m-%dT%H:%M:%S.%f%z}", timezone(timedelta(hours=1))), {}),
    "ISO 8601 with a blank": ("time", iso("{0:%Y-%m-%d %H:%M:%S.%f}"), {}),
    "ISO 8601, basic form": ("time", iso("{0:%Y%m%dT%H%M%S.%f}"), {}),
    "a date with slashes": ("time", iso("{0:%Y/%m/%d %H:%M:%S.%f}"), {}),
    "a date, day first": ("time", iso("{0:%d.%m.%Y %H:%M:%S.%f}"), {}),
    "a date with the month's name": ("time", iso("{0:%d-%b-%Y %H:%M:%S.%f}"), {}),
    "time of day across midnight": ("time", iso("{0:%H:%M:%S.%f}"), {"midnights passed": 1}),
    "time of day in halves across midnight": ("time", iso("{0:%I:%M:%S.%f %p}"), {"midnights passed": 1}),
    "seconds of the day across midnight": (
        "time [s]", lambda us: f"{(us + DAY_US - 30_000_000) % DAY_US / 1e6:.6f}", {"midnights passed": 1}
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", ["track", "phone"])
@pytest.mark.parametrize("way", TIMES)
def test_every_way_to_write_time(bench: Bench, way: str) -> None:
    header, write, mended = TIMES[way]
    us = stamps(bench)
    recording = bench.read(with_times(bench.lines, header, [write(t) for t in us]))
    assert dict(recording.quality.mended) == mended
    # Nanoseconds since 1970 in a double are good for 0.24 us.
    np.testing.assert_allclose(seconds_of(recording), us * 1e-6, rtol=0, atol=1e-6)
    np.testing.assert_allclose(recording.values, bench.clean.values, rtol=1e-12)


@every_log
@pytest.mark.parametrize("row", [60, 1000, 1990])
def test_time_that_jumps_back_is_refused_with_its_row(bench: Bench, row: int) -> None:
    lines = bench.lines
    # The counter starts anew, as after a pulled plug: the rows behind have the times of the first ones.
    at = time_column(bench)
    late = [line.split(",") for line in lines[row:]]
    for cells, early in zip(late, lines[1:], strict=False):
        cells[at] = early.split(",")[at]
    damaged = [*lines[:row], *(",".join(cells) for cells in late[: len(lines) - 1])]
    file = Path(bench.log.path).name
    with pytest.raises(LogError, match=rf"^{file}, row {row + 1}: time jumps back by .*--allow-restart") as caught:
        bench.read(damaged)
    assert "\n" not in str(caught.value)
    recording = bench.read(damaged, allow_restart=True)
    assert recording.quality.mended["restarts"] == 1
    assert recording.time_s.size == len(damaged) - 1
    np.testing.assert_allclose(recording.values, bench.clean.values[: len(damaged) - 1], rtol=1e-12)


@pytest.mark.parametrize("name", ["track", "phone"])
def test_a_clock_that_was_set_on_the_way_is_a_restart(bench: Bench) -> None:
    us = stamps(bench)
    # Until the receiver knows the date, the recorder counts from 2000.
    texts = [datetime.fromtimestamp(t / 1e6 + (1.79e9 if at > 700 else 946684800), UTC).isoformat()
             for at, t in enumerate(us)]  # fmt: skip
    damaged = with_times(bench.lines, "time", texts)
    with pytest.raises(LogError, match=r"row 703: time jumps ahead by \d+ days; the clock was set.*--allow-restart"):
        bench.read(damaged)
    recording = bench.read(damaged, allow_restart=True)
    assert recording.quality.mended == {"restarts": 1}
    assert recording.quality.duration_s < 1000


@every_log
def test_one_wrong_time_costs_its_row(bench: Bench) -> None:
    at = time_column(bench)
    rows = [line.split(",") for line in bench.lines]
    rows[901][at] = rows[300][at]
    kept = np.delete(np.arange(len(rows) - 1), 900)
    bench.assert_same(bench.read([",".join(row) for row in rows]), mended={"rows with a wrong time": 1}, kept=kept)


@every_log
@pytest.mark.parametrize(
    ("content", "why"),
    [(b"", "is empty"), (b"\n\n  \n", "is empty"), (None, "a header and no rows"), (bytes(5000), "is no text file")],
)
def test_an_empty_file_is_said(bench: Bench, content: bytes | None, why: str) -> None:
    with pytest.raises(LogError, match=rf"^{Path(bench.log.path).name}: {why}") as caught:
        bench.read(bench.lines[:1] if content is None else content)
    assert "\n" not in str(caught.value)


@every_log
def test_a_column_of_words_is_named_with_its_row(bench: Bench) -> None:
    column = {"track": 5, "phone": 1, "imu": 3, "commute": 3}[name_of(bench)]
    rows = [line.split(",") for line in bench.lines]
    for row in rows[1:]:
        row[column] = "fault" if row[column] else ""
    first = next(at for at, row in enumerate(rows[1:], start=2) if row[column])
    header = rows[0][column].strip('"')
    wanted = rf'^{Path(bench.log.path).name}, row {first}: "fault" in column {re.escape(header)}, where a number'
    with pytest.raises(LogError, match=wanted):
        bench.read([",".join(row) for row in rows])


@every_log
def test_columns_of_words_throughout_are_not_taken_for_a_missing_time(bench: Bench) -> None:
    rows = [line.split(",") for line in bench.lines]
    keep = time_column(bench)
    damaged = [rows[0], *([cell if at == keep else "ERR" for at, cell in enumerate(row)] for row in rows[1:])]
    with pytest.raises(LogError, match=rf'^{Path(bench.log.path).name}, row 2: "ERR" in column .*, where a number'):
        bench.read([",".join(row) for row in damaged])


@pytest.mark.parametrize("name", ["track", "imu"])
def test_decimal_commas_between_commas_cannot_be_told_apart(bench: Bench) -> None:
    lines = [bench.lines[0], *(line.replace(".", ",") for line in bench.lines[1:])]
    with pytest.raises(LogError, match="If the numbers have decimal commas, export them with semicolons"):
        bench.read(lines)


@every_log
def test_a_header_and_a_counter_that_begin_anew(bench: Bench) -> None:
    at, lines = time_column(bench), bench.lines
    again = [line.split(",") for line in lines[1000:1400]]
    for cells, early in zip(again, lines[1:], strict=False):
        cells[at] = early.split(",")[at]
    damaged = [*lines[:1000], lines[0], *(",".join(cells) for cells in again)]
    with pytest.raises(LogError, match=r"row 1002: time jumps back by .*--allow-restart"):
        bench.read(damaged)
    recording = bench.read(damaged, allow_restart=True)
    assert (recording.quality.mended["restarts"], recording.quality.mended["repeated headers"]) == (1, 1)
    np.testing.assert_allclose(recording.values, bench.clean.values[:1399], rtol=1e-12)


@pytest.mark.parametrize("name", ["track", "phone"])
def test_a_counter_that_begins_anew_where_no_row_was_yet(bench: Bench) -> None:
    # The log begins an hour after the recorder woke; the restart falls back before its first row.
    us = stamps(bench)
    texts = [f"{t + 3_600_000_000 if at < 900 else t - us[900]}" for at, t in enumerate(us)]
    damaged = with_times(bench.lines, "time [us]", texts)
    with pytest.raises(LogError, match=r"row 902: time jumps back by .* s; the logger restarted"):
        bench.read(damaged)
    recording = bench.read(damaged, allow_restart=True)
    assert recording.quality.mended == {"restarts": 1}
    np.testing.assert_allclose(recording.values, bench.clean.values, rtol=1e-12)


@pytest.mark.parametrize("name", ["track", "phone"])
def test_a_wrap_with_rows_lost_around_it(bench: Bench) -> None:
    us = stamps(bench)
    texts = [f"{(t + 2**32 - us[1000]) % 2**32}" for t in us]
    lines = with_times(bench.lines, "time [us]", texts)
    recording = bench.read(lines[:999] + lines[1003:])
    assert recording.quality.mended == {"32-bit us wraps": 1}
    assert np.diff(recording.time_s).max() == pytest.approx(5 * np.median(np.diff(us)) * 1e-6, rel=0.01)


@pytest.mark.parametrize("name", ["phone"])
def test_as_binary_frames_it_is_the_same_to_a_count_and_damage_costs_what_it_hits(bench: Bench) -> None:
    writer, scale = as_frames(bench)
    path = bench.folder / "log.frames"
    path.write_bytes(writer.data)
    whole = read_frames_drive(path, bench.folder / "whole")
    np.testing.assert_allclose(whole.time_s, stamps(bench) * 1e-6, atol=1e-9)
    np.testing.assert_allclose(whole.values, bench.clean.values, atol=0.51 * scale)
    assert whole.quality.mended == {}

    frames = list(writer.frames)
    hit = bytearray(frames[30])
    hit[15] ^= 0x55
    frames[30] = bytes(hit)
    frames[60:63] = []
    data = b"".join(frames[:100]) + bytes(range(1, 256)) * 3 + b"\0" + b"".join(frames[100:])[:-7]
    path.write_bytes(data)
    damaged = read_frames_drive(path, bench.folder / "damaged")
    kept = np.isin(np.round(whole.time_s * 1e6), np.round(damaged.time_s * 1e6))
    assert np.count_nonzero(kept) == damaged.time_s.size
    np.testing.assert_allclose(damaged.values, whole.values[kept], rtol=1e-12)
    # One hit, three cut out; the last one was cut short, which no number behind it tells.
    assert damaged.quality.mended["frames lost"] == 4
    assert damaged.quality.mended["frames with a wrong checksum"] >= 1
    assert np.count_nonzero(~kept) <= 5 * 10


def as_frames(bench: Bench) -> tuple[FrameWriter, float]:
    """The accelerations of a log as a recorder of ±4 g with 16 bits would have written them, ten samples a frame."""
    # 0.122 mg a count, as at ±4 g.
    scale = 0.122e-3 * STANDARD_GRAVITY_MPS2
    counts = np.round(bench.clean.values / scale).astype(int)
    channels = tuple((channel.name, "mg", 0, 122, -3, 0, 0) for channel in bench.clean.channels)
    writer = FrameWriter(channels=channels, place="body")
    us = stamps(bench)
    for first in range(0, us.size, 10):
        if first % 500 == 0:
            writer.header(int(us[first]))
        block = slice(first, first + 10)
        writer.stamped([int(t) for t in us[block]], [tuple(int(v) for v in row) for row in counts[block]])
    return writer, scale


def read_frames_drive(path: Path, folder: Path) -> Recording:
    drive = read_drive(write_drive(plan_drive([path], None), folder))
    return drive.recordings[0]
