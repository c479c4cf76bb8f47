"""Real logs (shared data; each folder's SOURCE.txt says where they come from), damaged as logs are damaged.

What is mended must be counted and must give what the undamaged log gives; what is refused is refused in one line that
names the file, the row and the mend.
"""

import random
import re
from pathlib import Path

import numpy as np
import pytest

from shiftlog.errors import LogError
from tests.open_data.bench import Bench, every_log, name_of, time_column
from tests.open_data.real_logs import joined

pytestmark = pytest.mark.open_data


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
