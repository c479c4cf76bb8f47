"""Binary logs: what was written comes back, damage is counted, and nothing comes back that was not written."""

from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from shiftlog.errors import LogError
from shiftlog.ingest.formats.frame_parts import find_parts
from shiftlog.ingest.formats.frame_records import holds_frames, parse_frames
from tests.ingest.frame_tables import assert_written, recorder, table_of
from tests.ingest.frame_writer import FrameWriter, crc16, framed

quick = settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


@pytest.mark.parametrize("start_us", [0, 5_000_000, (1 << 32) - 600_000, (3 << 32) - 1, (1 << 40) - 600_000])
def test_what_was_written_comes_back_over_wraps_of_the_counter(start_us: int, tmp_path: Path) -> None:
    writer = recorder(start_us=start_us)
    table = table_of(writer.data, tmp_path)
    times, rows = zip(*writer.samples, strict=True)
    assert table.time_s == pytest.approx(np.array(times) * 1e-6, abs=1e-9 if start_us < 1 << 34 else 1e-6)
    assert table.values == pytest.approx(np.array(rows) * [1, 0.061], rel=1e-12)
    assert table.mended == {}
    assert (table.header.device, table.header.place, table.header.rate_hz) == ("bench", "lever", 250.0)


def test_lost_frames_are_counted_by_their_numbers(tmp_path: Path) -> None:
    writer = recorder()
    kept = writer.frames[:10] + writer.frames[13:30] + writer.frames[31:]
    table = table_of(b"".join(kept), tmp_path)
    assert table.mended["frames lost"] == 4
    # One of the four is a repeated header.
    assert table.time_s.size == 320 - 3 * 8
    assert_written(table, writer)


def test_numbers_begin_anew_after_65536(tmp_path: Path) -> None:
    writer = recorder(sequence=65_520)
    del writer.frames[20]
    assert table_of(writer.data, tmp_path).mended == {"frames lost": 1}


def test_a_reader_that_starts_in_the_middle_waits_for_no_header(tmp_path: Path) -> None:
    writer = recorder()
    table = table_of(writer.data[300:], tmp_path)
    assert_written(table, writer)
    # The next header stands at 5.32 s.
    assert table.time_s[0] < 5.2
    assert table.mended.keys() <= {"bytes of rubbish", "frames with a wrong checksum"}


def test_a_wrong_checksum_loses_its_own_frame_only(tmp_path: Path) -> None:
    writer = recorder()
    frame = bytearray(writer.frames[6])
    frame[20] ^= 0x41 if frame[20] != 0x41 else 0x42
    writer.frames[6] = bytes(frame)
    table = table_of(writer.data, tmp_path)
    assert table.time_s.size == 312
    assert table.mended["frames lost"] == 1
    assert table.mended.keys() & {"frames with a wrong checksum", "bytes of rubbish"}
    assert_written(table, writer)


def test_rubbish_between_frames_is_counted_in_bytes(tmp_path: Path) -> None:
    writer = recorder()
    data = b"".join([*writer.frames[:8], b"\xf0\x01\x02boot: ok\r\n\0", *writer.frames[8:]])
    table = table_of(data, tmp_path)
    assert table.mended == {"bytes of rubbish": 13}
    assert table.time_s.size == 320


def test_copies_and_parts_out_of_order_are_put_right(tmp_path: Path) -> None:
    writer = recorder()
    moved = writer.frames[:5] + writer.frames[20:30] + writer.frames[5:20] + writer.frames[18:]
    table = table_of(b"".join(moved), tmp_path)
    assert table.mended == {"repeated frames": 12}
    assert table.time_s.size == 320
    assert np.all(np.diff(table.time_s) > 0)
    assert_written(table, writer)


def test_a_file_that_was_copied_as_text_says_so(tmp_path: Path) -> None:
    with pytest.raises(LogError, match="was copied as text: .* Copy it from the recorder again, in binary"):
        table_of(recorder(records=200).data.replace(b"\n", b"\r\n"), tmp_path)
    damaged = bytearray(recorder(records=200).data)
    damaged[500] ^= 1
    assert table_of(bytes(damaged), tmp_path).mended["frames with a wrong checksum"] == 1


def test_markers_stand_at_the_first_sample_behind_them(tmp_path: Path) -> None:
    writer = recorder(records=3)
    writer.marker(5_010_000, 3)
    writer.marker(99_000_000, 4)
    table = table_of(writer.data, tmp_path)
    assert np.flatnonzero(table.marks).tolist() == [3, 23]
    assert table.marks[[3, 23]].tolist() == [3, 4]
    assert table_of(recorder(records=3).data, tmp_path).marks is None


def test_missing_and_unsigned_counts(tmp_path: Path) -> None:
    channels = (("select", "count", 1, 1, 0, 0, 0), ("gearbox_temp", "degC", 2, 390625, -8, 25, 0))
    writer = FrameWriter(channels=channels)
    writer.header()
    writer.even(0, 1000, [(-1, 256), (-32768, -32768), (5, 0)])
    table = table_of(writer.data, tmp_path)
    assert table.values[:, 0].tolist() == [65535, 32768, 5]
    assert table.values[[0, 2], 1].tolist() == [26.0, 25.0]
    assert np.isnan(table.values[1, 1])


def test_what_does_not_belong_together_is_refused(tmp_path: Path) -> None:
    lever, body = recorder(), recorder(device="other", place="body")
    with pytest.raises(LogError, match="two recorders, bench at the lever and other at the body"):
        table_of(lever.data + body.data, tmp_path)
    changed = recorder(session=9, channels=(("select", "mm", 0, 1, -1, 0, 0), ("accel_x", "mg", 0, 61, -3, 0, 0)))
    with pytest.raises(LogError, match="other channels than before"):
        table_of(lever.data + changed.data, tmp_path)


@pytest.mark.parametrize(
    ("data", "why"),
    [
        (b"", "no frame with a right checksum"),
        (b"time [s],select [count]\n0,1\n", "no frame with a right checksum"),
        (b"".join(recorder(records=1).frames[:2]), "a header and no samples"),
        (b"".join(recorder(records=5).frames[2:]), "no header record"),
    ],
)
def test_what_cannot_be_used_is_said_in_one_line(data: bytes, why: str, tmp_path: Path) -> None:
    with pytest.raises(LogError, match=f"^bench.frames: holds {why}") as caught:
        table_of(data, tmp_path)
    assert "\n" not in str(caught.value)


def test_a_later_version_is_said(tmp_path: Path) -> None:
    writer = FrameWriter()
    later = b"\x02" + writer.description()[1:]
    writer.layout = crc16(later)
    writer.record(1, 0, later)
    with pytest.raises(LogError, match="version 2; this program reads version 1"):
        table_of(writer.data, tmp_path)


def test_frames_are_known_by_what_they_hold() -> None:
    data = recorder().data
    assert holds_frames(data)
    assert holds_frames(data[1000:])
    assert not holds_frames(b"time [s],select [count]\n0,1\n1,2\n")
    assert not holds_frames("time [s],select [count]\n0,1\n1,2\n".encode("utf-16"))
    assert not holds_frames(bytes(1000))


DATA = recorder(records=24)


@quick
@given(st.binary(max_size=400))
def test_any_bytes_are_read_or_refused(tmp_path: Path, rubbish: bytes) -> None:
    for data in (rubbish, rubbish + DATA.data, framed(rubbish) + DATA.data, DATA.data + rubbish):
        try:
            assert_written(table_of(data, tmp_path), DATA)
        except LogError as error:
            assert "\n" not in str(error)


@quick
@given(st.lists(st.tuples(st.integers(0, len(DATA.data) - 1), st.integers(1, 255)), min_size=1, max_size=12))
def test_flipped_bits_bring_no_wrong_sample(tmp_path: Path, flips: list[tuple[int, int]]) -> None:
    data = bytearray(DATA.data)
    for at, bits in flips:
        data[at] ^= bits
    try:
        table = table_of(bytes(data), tmp_path)
    except LogError:
        assert len(flips) >= 3, "one header of three is enough"
        return
    assert_written(table, DATA)
    # A flip costs the frame it hits, or the two whose parting zero it hits.
    assert table.time_s.size >= 192 - 16 * len(flips)


@quick
@given(
    st.lists(
        st.tuples(st.integers(0, len(DATA.data)), st.integers(0, 600), st.binary(max_size=20)), min_size=1, max_size=4
    )
)
def test_bytes_taken_out_and_put_in_bring_no_wrong_sample(tmp_path: Path, cuts: list[tuple[int, int, bytes]]) -> None:
    data = DATA.data
    for at, length, put in cuts:
        data = data[:at] + put + data[at + length :]
    try:
        assert_written(table_of(data, tmp_path), DATA)
    except LogError as error:
        assert str(error).startswith("bench.frames: holds ")


OTHER = recorder(records=24, session=8, start_us=90_000_000)
FOREIGN = recorder(records=24, device="other", channels=(("engage", "mm", 0, 1, -1, 0, 0),) * 2)


@quick
@given(st.lists(st.tuples(st.sampled_from([0, 1, 2]), st.integers(0, 3000), st.integers(0, 3000)), max_size=6))
def test_spliced_files_bring_no_wrong_sample(tmp_path: Path, pieces: list[tuple[int, int, int]]) -> None:
    sources = (DATA, OTHER, FOREIGN)
    data = b"".join(sources[which].data[min(a, b) : max(a, b)] for which, a, b in pieces)
    found = parse_frames(data, file="bench.frames")
    try:
        table = table_of(data, tmp_path)
    except LogError as error:
        assert "\n" not in str(error)
        return
    parts = find_parts(found, file="bench.frames")
    assert len(table.starts) == len(parts) - 1
    if table.header.device == "bench":
        assert_written(table, DATA, OTHER)


@pytest.mark.parametrize("length", range(0, 1600, 37))
def test_a_file_cut_anywhere_gives_what_stands_before(length: int, tmp_path: Path) -> None:
    whole = b"".join(DATA.frames)[:length]
    try:
        table = table_of(whole, tmp_path)
    except LogError:
        assert length < len(b"".join(DATA.frames[:3]))
        return
    assert_written(table, DATA)
    assert "frames lost" not in table.mended
