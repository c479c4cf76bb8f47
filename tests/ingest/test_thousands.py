"""Marks between thousands, beside decimal marks and alone."""

import numpy as np
import pytest

from shiftlog.errors import LogError

HEADER = "time [ms];select [count];engage [count];clutch [%];note"


def log(time, select, clutch, *, note=lambda k: "7", rows: int = 3000) -> str:
    lines = [f"{time(k)};{select(k)};{2100 + k % 50};{clutch(k)};{note(k)}" for k in range(rows)]
    return "\n".join([HEADER, *lines])


def german(number: int) -> str:
    return f"{number:,}".replace(",", ".")


def plain(k: int) -> str:
    return str(k * 10)


def lever(k: int) -> str:
    return str(2000 + k % 70)


def comma(k: int) -> str:
    return f"{20 + k % 60}," + str(k % 9)


def dot(k: int) -> str:
    return comma(k).replace(",", ".")


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (log(lambda k: german(k * 10), lever, comma), r'row 102: "1\.000" in column time \[ms\] may be a thousand'),
        (log(lambda k: f"{k * 10:,}", lever, dot), r'row 102: "1,000" in column time \[ms\] may be a thousand'),
        (log(lambda k: german(k * 10), lever, lambda k: "50"), r'row 102: "1\.000" in column time \[ms\]'),
        (log(plain, lambda k: german(2000 + k % 70), comma), r'row 2: "2\.000" in column select \[count\]'),
        (log(lambda k: german(k) + ",5" if k > 999 else str(k), lever, dot), r'row 1002: "1\.000,5" in column time'),
        (log(lambda k: german(1_234_000 + k * 10), lever, comma), r'row 2: "1\.234\.000" in column time'),
    ],
)
def test_what_may_be_thousands_is_refused_with_its_row(read, content: str, message: str) -> None:
    with pytest.raises(LogError, match=rf"^lever.csv, {message}"):
        read(content)


@pytest.mark.parametrize(
    ("content", "clutch"),
    [
        (log(plain, lever, lambda k: f"{1 + k % 90}.{k % 7}25"), 0.01125),
        (log(plain, lever, lambda k: f"{1 + k % 90}.125"), 0.01125),
        (log(lambda k: f"{k * 10}.000", lever, comma, note=comma), 0.20),
        (log(plain, lambda k: f"{k % 70 / 8:.3f}", comma, note=comma), 0.20),
        (log(plain, lever, comma, note=german), 0.20),
        (log(plain, lever, lambda k: comma(k) if k < 1500 else f"{20 + k % 60}.{k % 9}000"), 0.20),
    ],
    ids=[
        "three digits",
        "a fixed fraction",
        "time from zero",
        "fractions from zero",
        "in no channel",
        "marks that change",
    ],
)
def test_fractions_of_three_digits_stay_fractions(read, content: str, clutch: float) -> None:
    recording = read(content)
    assert recording.time_s.size == 3000
    np.testing.assert_allclose(np.diff(recording.time_s), 0.01, atol=1e-9)
    assert recording.column("clutch")[0] == pytest.approx(clutch, abs=0.0013)
