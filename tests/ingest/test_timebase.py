"""Time columns: units, clock text, wraps, midnight, and times without a unit."""

import numpy as np
import pytest

from shiftlog.errors import LogError
from tests.ingest.lever_log import EVEN, RATE, log


@pytest.mark.parametrize(("unit", "factor"), [("s", 1.0), ("ms", 1e3), ("us", 1e6), ("ns", 1e9)])
def test_any_unit_gives_the_same_seconds(read, unit: str, factor: float) -> None:
    recording = read(log(unit, EVEN * factor))
    np.testing.assert_allclose(recording.time_s, EVEN, atol=1e-9)
    assert recording.quality.rate_hz == pytest.approx(RATE, rel=1e-9)


def iso(seconds: float, *, separator: str = "T", zone: str = "Z") -> str:
    moment = np.datetime64("2026-10-03T14:05:00", "us") + np.timedelta64(round(seconds * 1e6), "us")
    return str(moment).replace("T", separator) + zone


@pytest.mark.parametrize(
    "write",
    [
        iso,
        lambda t: iso(t, separator=" ", zone=""),
        lambda t: iso(t, zone="+02:00"),
        lambda t: iso(t, zone="").replace("-", "/").replace("T", " "),
        lambda t: "03.10.2026 " + iso(t, zone="")[11:],
        lambda t: iso(t, zone="")[11:],
        lambda t: iso(t, zone="")[11:].replace(".", ":", 0),
    ],
)
def test_dates_and_times_of_day(read, write) -> None:
    recording = read(log("", [write(t) for t in EVEN]))
    # Seconds since 1970 in double precision resolve 0.24 us.
    np.testing.assert_allclose(recording.time_s - recording.time_s[0], EVEN, atol=1e-6)


def test_whole_seconds_among_fractions_of_iso_times(read) -> None:
    texts = [iso(t).replace(".000000Z", "Z") for t in EVEN]
    np.testing.assert_allclose(np.diff(read(log("", texts)).time_s), 1 / RATE, atol=1e-6)


def test_midnight_is_passed(read) -> None:
    seconds = 86399.0 + EVEN
    texts = [f"{int(t % 86400 // 3600):02}:{int(t % 3600 // 60):02}:{t % 60:06.3f}" for t in seconds]
    recording = read(log("", texts))
    np.testing.assert_allclose(recording.time_s, seconds, atol=1e-6)
    assert recording.quality.mended == {"midnights passed": 1}


@pytest.mark.parametrize(("unit", "factor"), [("us", 1e6), ("ms", 1e3)])
@pytest.mark.parametrize("signed", [False, True])
def test_a_32_bit_counter_wraps(read, unit: str, factor: float, signed: bool) -> None:
    # 71.6 minutes of microseconds, 49.7 days of milliseconds: 2**32 counts.
    limit = 2**31 if signed else 2**32
    counts = (limit - 4e3 * (factor / 1e3) + np.round(EVEN * factor)).astype(np.int64)
    wrapped = np.where(counts >= limit, counts - 2**32, counts)
    recording = read(log(unit, wrapped))
    np.testing.assert_allclose(np.diff(recording.time_s), 1 / RATE, atol=1e-6)
    assert recording.quality.mended == {f"32-bit {unit} wraps": 1}


LONG = np.arange(50_000) / RATE


@pytest.mark.parametrize(("unit", "bits"), [("ms", 16), ("us", 24), ("ms", 24)])
def test_a_counter_of_fewer_bits_wraps(read, unit: str, bits: int) -> None:
    per_s = {"ms": 1000, "us": 1_000_000}[unit]
    counts = np.round(LONG * per_s).astype(np.int64) + 2**bits - 2 * per_s
    recording = read(log(unit, counts % 2**bits))
    np.testing.assert_allclose(np.diff(recording.time_s), 1 / RATE, atol=1e-6)
    assert recording.quality.mended == {f"{bits}-bit {unit} wraps": counts[-1] // 2**bits}


def test_rows_out_of_order_at_a_wrap_go_to_their_places(read) -> None:
    counts = (np.round(LONG * 1000).astype(np.int64) + 2**16 - 2000) % 2**16
    order = np.arange(counts.size)
    order[498:503] = [499, 501, 498, 500, 502]
    texts = np.array(log("ms", counts).split("\n")[1:])[order]
    recording = read("\n".join(["time [ms],select [mm],engage [mm]", *texts]))
    np.testing.assert_array_equal(recording.values, read(log("ms", counts)).values)


@pytest.mark.parametrize("order", [[501, 500], [500, 501, 498, 499], [499, 502, 500, 501]])
@pytest.mark.parametrize("unit", ["us", "ms"])
def test_rows_out_of_order_where_a_long_counter_wraps_go_to_their_places(read, order: list[int], unit: str) -> None:
    per_s = {"ms": 1000, "us": 1_000_000}[unit]
    counts = (np.round(EVEN * per_s).astype(np.int64) + 2**32 - 2 * per_s - 1) % 2**32
    whole = np.arange(counts.size)
    whole[min(order) : max(order) + 1] = order
    texts = np.array(log(unit, counts).split("\n")[1:])[whole]
    recording = read("\n".join([f"time [{unit}],select [mm],engage [mm]", *texts]))
    np.testing.assert_array_equal(recording.values, read(log(unit, counts)).values)
    assert set(recording.quality.mended) == {f"32-bit {unit} wraps", "places out of order"}


def test_a_wrong_time_beside_a_wrap_costs_its_row(read) -> None:
    counts = (np.round(EVEN * 1e6).astype(np.int64) + 2**32 - 2_000_000) % 2**32
    counts[498] = 77_000_000
    assert read(log("us", counts)).quality.mended == {"rows with a wrong time": 1, "32-bit us wraps": 1}


def test_one_wrap_of_a_short_counter_may_be_a_restart_and_is_asked(read) -> None:
    counts = (np.round(EVEN * 1000).astype(np.int64) + 2**16 - 4000) % 2**16
    with pytest.raises(LogError, match=r"row 1002: time jumps back by 65\.5 s; the logger restarted"):
        read(log("ms", counts))


def test_a_restart_of_a_short_counter_is_asked(read) -> None:
    counts = np.round(LONG * 1000).astype(np.int64) % 2**16
    counts[40_000:] = counts[:10_000]
    with pytest.raises(LogError, match=r"row 40002: time jumps back by 28\.9 s; the logger restarted"):
        read(log("ms", counts))


@pytest.mark.parametrize(
    ("unit", "bits", "turn"), [("us", 32, "4294.97"), ("ms", 32, "4.29497e+06"), ("ms", 16, "65.536")]
)
def test_a_wrap_in_a_hole_is_told_with_what_is_not_known_of_its_length(read, unit, bits, turn) -> None:
    per_s = {"ms": 1000, "us": 1_000_000}[unit]
    counts = (np.round(LONG * per_s).astype(np.int64) + 2**bits - 2 * per_s) % 2**bits
    lines = log(unit, counts).split("\n")
    recording = read("\n".join(lines[:301] + lines[2001:]))
    assert recording.quality.gaps == ((pytest.approx(recording.time_s[299]), pytest.approx(recording.time_s[300])),)
    assert np.diff(recording.time_s)[299] == pytest.approx(1701 / RATE, abs=1e-6)
    assert recording.quality.mended[f"holes that may be longer by turns of {turn} s"] == 1
    assert recording.history == (
        f"Row 302: a hole of 6.8 s, or longer by whole turns of the recorder's clock, {turn} s each.",
    )


@pytest.mark.parametrize("before_end_s", [25.0, 600.0, 2000.0])
def test_a_restart_near_zero_is_asked_however_near_the_wrap_it_is(read, before_end_s: float) -> None:
    first = (2**32 / 1e6 - before_end_s - EVEN[-1] + EVEN) * 1e6
    counts = np.concatenate([first, 2000 + EVEN * 1e6]).astype(np.int64)
    with pytest.raises(LogError, match=r"row 2002: time jumps back by .* s; the logger restarted"):
        read(log("us", counts))


@pytest.mark.parametrize(
    ("times", "seconds"),
    [
        (EVEN, EVEN),
        (np.round(EVEN * 1000).astype(int), EVEN),
        (1.7e9 + EVEN, 1.7e9 + EVEN),
        ((1.7e12 + EVEN * 1e3).astype(np.int64), 1.7e9 + EVEN),
        ((1.7e15 + EVEN * 1e6).astype(np.int64), 1.7e9 + EVEN),
        ((np.round(EVEN * 1000).astype(np.int64) + 2**32 - 4000) % 2**32, EVEN + 2**32 / 1e3 - 4),
    ],
)
def test_a_time_without_unit_is_taken_where_one_reading_makes_sense(read, times, seconds) -> None:
    np.testing.assert_allclose(read(log("", times)).time_s, seconds, atol=1e-6, rtol=0)


def test_a_time_without_unit_and_two_readings_is_asked_for(read) -> None:
    # Whole numbers, one a row: seconds at 1 Hz, or milliseconds at 1 kHz.
    with pytest.raises(LogError, match=r"fit s or ms\. Map it with its unit.*--column \"time=time:ms\""):
        read(log("", np.arange(2000)))


def test_minutes_and_seconds_go_on_past_the_hour(read) -> None:
    texts = [f"{int(t // 60 % 60):02}:{t % 60:06.3f}" for t in 3596 + EVEN]
    recording = read(log("", texts))
    np.testing.assert_allclose(recording.time_s, 3596 + EVEN, atol=1e-6)
    assert recording.quality.mended == {"hours passed": 1}


def test_text_that_is_no_time_is_refused_with_the_forms_that_are_read(read) -> None:
    with pytest.raises(LogError) as error:
        read(log("", [f"10/03/2026 02.05.{t:06.3f}" for t in EVEN]))
    assert str(error.value).startswith(
        'lever.csv, row 2: "10/03/2026 02.05.00.000" in column time is no time in a form that is read. '
        "Write it as a number with its unit, or as HH:MM:SS.mmm (also with AM or PM), MM:SS.mmm, "
    )


def test_a_time_that_stands_still_is_refused(read) -> None:
    with pytest.raises(LogError, match="fewer than two rows with a time of their own"):
        read(log("s", np.ones(100)))


def test_seconds_of_the_day_pass_midnight(read) -> None:
    time = (86390 + np.arange(500) / 20) % 86400
    recording = read(log("s", time))
    assert recording.quality.mended == {"midnights passed": 1}
    assert recording.quality.duration_s == pytest.approx(24.95)
