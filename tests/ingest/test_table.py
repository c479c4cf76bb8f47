"""Text logs as they really are: separators, encodings, decimal commas, cut and spoilt rows."""

import numpy as np
import pytest

from shiftlog.errors import LogError
from shiftlog.ingest.log_file import LogRequest, read_log


def as_read(recording) -> tuple[np.ndarray, np.ndarray]:
    return recording.time_s, recording.values


@pytest.fixture
def clean(read, lines):
    return as_read(read("\n".join(lines) + "\n"))


def same(recording, clean) -> bool:
    return np.array_equal(recording.time_s, clean[0]) and np.array_equal(recording.values, clean[1])


@pytest.mark.parametrize("separator", [";", "\t", " ; ", ", ", "|", " "])
def test_any_separator_gives_the_same(read, lines, clean, separator: str) -> None:
    text = "\n".join(line.replace(",", separator) for line in lines)
    assert same(read(text), clean)


@pytest.mark.parametrize("separator", [";", "\t", " ; "])
def test_decimal_commas_give_the_same(read, lines, clean, separator: str) -> None:
    rows = [line.replace(",", separator).replace(".", ",") for line in lines]
    assert same(read("\n".join(rows)), clean)


def test_quoted_times_with_a_decimal_comma_between_commas(read) -> None:
    rows = [f'"13:53:{k // 100:02d},{k % 100:02d}0",{2000 + k % 40},"{k % 30},5"' for k in range(500)]
    recording = read("\n".join(["time,select [mm],engage [mm]", *rows]))
    np.testing.assert_allclose(recording.time_s, 49_980 + np.arange(500) / 100, atol=1e-6)
    assert recording.column("engage") == pytest.approx(np.arange(500) % 30 + 0.5)


def test_quoted_decimal_commas_between_commas(read, lines, clean) -> None:
    rows = [",".join(f'"{cell}"' for cell in line.split(",")) for line in lines]
    rows = [rows[0], *(row.replace(".", ",") for row in rows[1:])]
    assert same(read("\n".join(rows)), clean)


def test_bare_decimal_commas_between_commas_are_refused_with_the_mend(read, lines) -> None:
    rows = [lines[0], *(line.replace(".", ",") for line in lines[1:])]
    with pytest.raises(LogError, match=r"^lever.csv: 3 columns in the header, 4 in the rows.*semicolons"):
        read("\n".join(rows))


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "latin-1"])
def test_any_encoding_gives_the_same(read, lines, clean, encoding: str) -> None:
    text = "\n".join([lines[0] + ",oil_temp [°C]", *(line + ",80" for line in lines[1:])])
    recording = read(text.encode(encoding))
    assert np.array_equal(recording.values[:, :2], clean[1])
    assert recording.channel("oil_temp").unit == "degC"


@pytest.mark.parametrize("ending", ["\r\n", "\r"])
def test_any_line_ending_gives_the_same(read, lines, clean, ending: str) -> None:
    assert same(read(ending.join(lines) + ending), clean)


def test_comment_lines_and_a_preamble_on_top_are_passed_over(read, lines, clean) -> None:
    top = ["# logger 7, firmware 2.1", "", "Device: box", "# second remark"]
    assert same(read("\n".join(top + lines)), clean)


def test_a_header_behind_a_comment_mark_is_the_header(read, lines, clean) -> None:
    assert same(read("\n".join(["# " + lines[0], *lines[1:]])), clean)


def test_a_row_of_units_under_the_names(read, lines, clean) -> None:
    assert same(read("\n".join(["time,select,engage", "s,count,count", *lines[1:]])), clean)


def test_trailing_separators_and_empty_lines(read, lines, clean) -> None:
    assert same(read("\n\n".join(line + "," for line in lines)), clean)


def test_repeated_headers_are_counted(read, lines, clean) -> None:
    lines[200:200] = [lines[0]]
    recording = read("\n".join(lines))
    assert same(recording, clean)
    assert recording.quality.mended == {"repeated headers": 1}


@pytest.mark.parametrize(
    ("second", "differs"),
    [
        ("time [s],engage [count],select [count]", r"engage \[count\] in place of select \[count\]"),
        ("time [ms],select [count],engage [count]", r"time \[ms\] in place of time \[s\]"),
        ("time [s],select [count],engage [count],clutch", "4 columns in place of 3"),
        ("time [s];engage [count];select [count]", None),
    ],
)
def test_another_header_on_the_way_is_refused_with_its_row(read, lines, second: str, differs: str | None) -> None:
    separator = ";" if differs is None else ","
    rows = [line.replace(",", separator) for line in [*lines[:301], second, *lines[301:]]]
    differs = differs or r"engage \[count\] in place of select \[count\]"
    with pytest.raises(
        LogError, match=rf"^lever.csv, row 302: another header than in row 1 \({differs}\). Split the file there.$"
    ):
        read("\n".join(rows))


@pytest.mark.parametrize(
    "again",
    ["Time [s],Select [count],Engage [count]", "time [s],select [count]", "# time [s],engage [count],select [count]"],
)
def test_the_header_again_in_other_letters_cut_short_or_as_a_remark_is_no_other(read, lines, clean, again: str) -> None:
    assert same(read("\n".join([*lines[:301], again, *lines[301:]])), clean)


def test_names_and_units_in_two_rows_may_stand_again(read, lines, clean) -> None:
    two = ["time,select,engage", "s,count,count"]
    assert same(read("\n".join([*two, *lines[1:301], *two, *lines[301:]])), clean)
    with pytest.raises(LogError, match="row 303: another header than in row 2"):
        read("\n".join([*two, *lines[1:301], "time,engage,select", two[1], *lines[301:]]))


def test_a_row_cut_short_is_dropped_and_counted_with_its_row(read, lines) -> None:
    lines[200] = lines[200][:5]
    recording = read("\n".join(lines))
    assert recording.time_s.size == 499
    assert recording.quality.mended["rows cut short"] == 1
    assert recording.quality.dropped == 1
    assert "lever.csv, row 201: 1 cells where the header has 3" in recording.history


def test_the_last_row_cut_by_a_pulled_plug(read, lines) -> None:
    assert read("\n".join(lines)[:-8]).quality.mended == {"rows cut short": 1}


@pytest.mark.parametrize("rubbish", [b"\x00\xff\x13\x88\n", b"\x00" * 40, b'"\xfe,,,;;"\n', b"\xff,\xfe,\xfd\n"])
def test_bytes_of_rubbish_in_the_middle_cost_no_more_than_their_rows(read, lines, rubbish: bytes) -> None:
    head, tail = "\n".join(lines[:250]) + "\n", "\n".join(lines[250:])
    recording = read(head.encode() + rubbish + tail.encode())
    assert 499 <= recording.time_s.size <= 500
    assert np.nanmax(np.abs(np.diff(recording.values, axis=0))) < 50
    assert sum(recording.quality.mended.values()) == 1


@pytest.mark.parametrize("word", ["", "nan", "NaN", "null", "NULL", "None", "-", " "])
def test_no_value_is_missing_in_its_cell_alone(read, lines, word: str) -> None:
    cells = lines[100].split(",")
    lines[100] = ",".join([cells[0], word, cells[2]])
    recording = read("\n".join(lines))
    assert np.flatnonzero(np.isnan(recording.column("select"))).tolist() == [99]
    assert not np.any(np.isnan(recording.column("engage")))


def test_one_text_among_many_numbers_is_counted_and_named(read, lines) -> None:
    cells = lines[100].split(",")
    lines[100] = ",".join([cells[0], "abc", cells[2]])
    recording = read("\n".join(lines))
    assert recording.quality.mended == {"cells that are no number": 1}
    assert 'lever.csv, row 101: "abc" in column select [count]' in recording.history
    assert np.isnan(recording.column("select")[99])


def test_a_column_of_text_is_refused_with_its_first_row(read, lines) -> None:
    for row in range(50, 100):
        cells = lines[row].split(",")
        lines[row] = ",".join([cells[0], "ERR", cells[2]])
    with pytest.raises(LogError, match=r'^lever.csv, row 51: "ERR" in column select \[count\], where a number'):
        read("\n".join(lines))


def test_too_many_cut_rows_are_refused(read, lines) -> None:
    lines[100:200] = [line.rsplit(",", 1)[0] for line in lines[100:200]]
    with pytest.raises(LogError, match=r"^lever.csv, row 101: 2 cells where the header has 3 \(100 such rows\)"):
        read("\n".join(lines))


def test_empty_cells_left_off_at_the_end_are_no_cut_rows(read, lines) -> None:
    rows = [lines[0] + ",oil_temp [degC]", *(line + (",80" if i % 3 == 0 else "") for i, line in enumerate(lines[1:]))]
    recording = read("\n".join(rows))
    assert recording.time_s.size == 500
    assert np.count_nonzero(np.isfinite(recording.column("oil_temp"))) == 167


@pytest.mark.parametrize(
    ("content", "message"),
    [
        ("", r"^lever.csv: is empty"),
        ("\n\n  \n", r"^lever.csv: is empty"),
        ("time [s],select [count]\n", r"^lever.csv: a header and no rows"),
        ("time [s],select [count]\n0.1,5\n", r"^lever.csv: a header and one row"),
        ("0.0,1,2\n0.1,2,3\n0.2,2,3\n", r"^lever.csv, row 1: numbers where the header should be"),
        ("just a letter to the workshop\n", r"^lever.csv: no time column"),
        (bytes(range(256)) * 20, r"^lever.csv: is no text file"),
        ("time [s]\n0.0\n0.1\n", r"^lever.csv: no columns found"),
        ("select [count],engage [count]\n1,2\n3,4\n", r"^lever.csv: no time column"),
        ("time [s],foo,bar\n0,1,2\n1,3,4\n", r"^lever.csv: no channel among its columns time \[s\], foo, bar"),
    ],
)
def test_what_is_no_log_is_refused_in_one_line(read, content: bytes | str, message: str) -> None:
    with pytest.raises(LogError, match=message) as error:
        read(content)
    assert "\n" not in str(error.value)


def test_a_file_that_is_not_there(tmp_path) -> None:
    request = LogRequest(path=tmp_path / "gone.csv", file="gone.csv", name="gone", place="lever", clock="c")
    with pytest.raises(LogError, match=r"^gone.csv: there is no such file"):
        read_log(request)


def test_blocks_join_without_a_seam(read, lines, clean, monkeypatch) -> None:
    monkeypatch.setattr("shiftlog.ingest.table.BLOCK_BYTES", 997)
    lines[300] = lines[300][:4]
    recording = read("\r\n".join(lines))
    assert np.array_equal(recording.time_s, np.delete(clean[0], 299))
    assert "lever.csv, row 301: 1 cells where the header has 3" in recording.history
