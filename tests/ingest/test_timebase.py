"""Time columns: units, clock text, wraps, order, copies, coarse stamps, gaps, restarts."""

import time

import numpy as np
import pytest

from shiftlog.errors import LogError
from shiftlog.ingest.sheet import Table
from shiftlog.ingest.timebase import RESTART_GAP_S, read_times

RATE = 250.0


def rows(times: list[str] | np.ndarray, *, noise: float = 2.0) -> list[str]:
    """A row for each time; the lever moves and carries noise, so that no two rows are alike."""
    n = len(times)
    rng = np.random.default_rng(7)
    select = 2000 + 200 * np.sin(np.arange(n) / 80) + rng.normal(0, noise, n)
    engage = 2100 + 150 * np.cos(np.arange(n) / 50) + rng.normal(0, noise, n)
    return [f"{t},{a:.3f},{b:.3f}" for t, a, b in zip(times, select, engage, strict=True)]


def log(unit: str, times: list[str] | np.ndarray) -> str:
    name = f"time [{unit}]" if unit else "time"
    return "\n".join([f"{name},select [mm],engage [mm]", *rows(times)])


EVEN = np.arange(2000) / RATE


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


def test_a_restart_is_refused_with_row_and_mend(read) -> None:
    times = np.concatenate((10 + EVEN[:1040], 10 + EVEN[1040] - 3.2 + EVEN[:900]))
    with pytest.raises(LogError) as error:
        read(log("s", times))
    assert str(error.value) == (
        "lever.csv, row 1042: time jumps back by 3.2 s; the logger restarted. "
        "Split the file there, or use --allow-restart."
    )


def test_a_restart_at_zero_is_refused(read) -> None:
    with pytest.raises(LogError, match=r"row 2002: time jumps back by 8 s"):
        read(log("s", np.concatenate((EVEN, EVEN[:50]))))


def test_an_allowed_restart_goes_on_behind_a_gap(read) -> None:
    recording = read(log("s", np.concatenate((EVEN, EVEN[:500]))), allow_restart=True)
    assert recording.time_s.size == 2500
    assert recording.time_s[2000] - recording.time_s[1999] == pytest.approx(RESTART_GAP_S)
    assert len(recording.spans) == 2
    assert recording.quality.mended == {"restarts": 1}
    assert recording.history == ("The log restarted; its next part was laid 17.996 s later than it says.",)


@pytest.mark.parametrize(
    "swap",
    [
        [(500, 501)],
        [(500, 504)],
        [(100, 101), (700, 702), (1500, 1501)],
    ],
)
def test_single_rows_out_of_order_are_sorted(read, swap) -> None:
    order = np.arange(EVEN.size)
    for a, b in swap:
        order[[a, b]] = order[[b, a]]
    texts = np.array(rows(EVEN))[order]
    recording = read("\n".join(["time [s],select [mm],engage [mm]", *texts]))
    straight = read(log("s", EVEN))
    np.testing.assert_array_equal(recording.values, straight.values)
    np.testing.assert_array_equal(recording.time_s, straight.time_s)
    assert "places out of order" in recording.quality.mended


def test_jitter_beyond_a_step_is_no_restart(read) -> None:
    times = EVEN + np.random.default_rng(5).uniform(-0.006, 0.006, EVEN.size)
    recording = read(log("s", [f"{t:.6f}" for t in times]))
    assert recording.time_s.size == pytest.approx(EVEN.size, abs=3)


def test_thousands_of_rows_out_of_order_take_no_time(read) -> None:
    order = np.arange(200_000)
    swapped = np.arange(0, order.size - 1, 50)
    order[swapped], order[swapped + 1] = order[swapped + 1], order[swapped].copy()
    times = np.arange(order.size) / 1600
    texts = np.array(rows(times))[order]
    began = time.perf_counter()
    recording = read("\n".join(["time [s],select [mm],engage [mm]", *texts]))
    # Four thousand searches of the whole log would take minutes; this is a second on a slow machine.
    assert time.perf_counter() - began < 20
    np.testing.assert_array_equal(recording.time_s, times)


def test_a_late_packet_is_sorted_into_its_place(read) -> None:
    order = np.concatenate((np.arange(480), np.arange(500, 540), np.arange(480, 500), np.arange(540, 2000)))
    recording = read("\n".join(["time [s],select [mm],engage [mm]", *np.array(rows(EVEN))[order]]))
    np.testing.assert_array_equal(recording.values, read(log("s", EVEN)).values)


def test_a_packet_sent_twice_is_dropped(read) -> None:
    order = np.concatenate((np.arange(500), np.arange(470, 2000)))
    recording = read("\n".join(["time [s],select [mm],engage [mm]", *np.array(rows(EVEN))[order]]))
    np.testing.assert_array_equal(recording.time_s, EVEN)
    assert recording.quality.mended == {"duplicate rows": 30}


def test_a_second_run_that_starts_out_like_the_first_is_a_restart_and_loses_no_row(read) -> None:
    first, second = rows(EVEN), rows(EVEN, noise=3.0)
    whole = "\n".join(["time [s],select [mm],engage [mm]", *first, *first[:400], *second[400:]])
    with pytest.raises(LogError, match="row 2002: time jumps back by 8 s"):
        read(whole)
    recording = read(whole, allow_restart=True)
    assert recording.time_s.size == 4000 and recording.quality.mended == {"restarts": 1}


def test_duplicate_rows_are_dropped_and_counted(read) -> None:
    order = np.sort(np.concatenate((np.arange(2000), np.arange(0, 2000, 20), np.arange(0, 2000, 100))))
    recording = read("\n".join(["time [s],select [mm],engage [mm]", *np.array(rows(EVEN))[order]]))
    np.testing.assert_array_equal(recording.time_s, EVEN)
    assert recording.quality.mended == {"duplicate rows": 120}


def test_one_wrong_time_costs_its_row(read) -> None:
    times = EVEN.copy()
    times[700] += 900.0
    recording = read(log("s", times))
    np.testing.assert_array_equal(recording.time_s, np.delete(EVEN, 700))
    assert recording.quality.mended == {"rows with a wrong time": 1}


@pytest.mark.parametrize("rate", [1600.0, 1333.0, 2500.0])
def test_millisecond_stamps_of_a_fast_recorder_are_spread(read, rate: float) -> None:
    true = np.arange(16000) / rate
    recording = read(log("ms", np.floor(true * 1000).astype(int)))
    assert recording.time_s.size == true.size
    assert recording.quality.rate_hz == pytest.approx(rate, rel=1e-3)
    error = recording.time_s - true
    # Stamps were cut to whole milliseconds, so that their mean lies half of one early.
    assert np.mean(error) == pytest.approx(-0.0005, abs=2e-4)
    assert np.max(np.abs(error - np.mean(error))) < 3e-4


def test_coarse_stamps_keep_their_gap(read) -> None:
    true = np.arange(16000) / 1600
    true[8000:] += 0.5
    recording = read(log("ms", np.floor(true * 1000).astype(int)))
    assert np.max(np.abs(recording.time_s - true + 0.0005)) < 1e-3
    assert len(recording.quality.gaps) == 1
    start, end = recording.quality.gaps[0]
    assert end - start == pytest.approx(0.5 + 1 / 1600, abs=1e-3)
    assert recording.quality.dropped == pytest.approx(800, abs=2)


def test_packets_that_share_a_stamp_are_spread(read) -> None:
    true = np.arange(4000) / 250
    recording = read(log("s", np.floor(true / 0.04) * 0.04))
    assert recording.quality.rate_hz == pytest.approx(250, rel=1e-3)
    assert recording.quality.mended == {"equal time stamps spread": 3600}
    error = recording.time_s - true
    assert np.max(np.abs(error - np.mean(error))) < 0.002


def test_a_recorder_whose_rate_wanders_is_followed(read) -> None:
    step = (1 + 0.01 * np.sin(np.arange(32000) / 3000)) / 1600
    true = np.cumsum(step)
    recording = read(log("ms", np.floor(true * 1000).astype(int)))
    error = recording.time_s - true
    assert np.max(np.abs(error - np.mean(error))) < 5e-4


def test_gaps_make_spans_and_count_what_is_missing(read) -> None:
    times = np.concatenate((EVEN[:500], EVEN[600:1000], EVEN[1001:]))
    recording = read(log("s", times))
    assert recording.quality.gaps == ((pytest.approx(EVEN[499]), pytest.approx(EVEN[600])),)
    assert recording.spans == (
        (0.0, pytest.approx(EVEN[499])),
        (pytest.approx(EVEN[600]), pytest.approx(EVEN[-1])),
    )
    assert recording.quality.dropped == 101
    assert recording.quality.rate_hz == pytest.approx(RATE, rel=1e-9)


def test_jitter_is_measured_and_makes_no_gaps(read) -> None:
    rng = np.random.default_rng(3)
    times = EVEN + rng.uniform(-0.0012, 0.0012, EVEN.size)
    recording = read(log("s", [f"{t:.6f}" for t in times]))
    assert recording.quality.gaps == ()
    assert recording.quality.dropped == 0
    assert recording.quality.rate_hz == pytest.approx(RATE, rel=2e-3)
    # Steps of independent uniform jitter of ±1.2 ms: sqrt(2) · 1.2 / sqrt(3) ms.
    assert recording.quality.jitter_s == pytest.approx(0.00098, rel=0.05)


def test_rows_without_a_time_are_dropped(read) -> None:
    texts = [f"{t}" for t in EVEN]
    texts[100], texts[200] = "", "nan"
    recording = read(log("s", texts))
    assert recording.time_s.size == 1998
    assert recording.quality.mended == {"rows without a time": 2}


@pytest.mark.parametrize(
    ("times", "seconds"),
    [
        (EVEN, EVEN),
        (np.round(EVEN * 1000).astype(int), EVEN),
        (1.7e9 + EVEN, 1.7e9 + EVEN),
        ((1.7e12 + EVEN * 1e3).astype(np.int64), 1.7e9 + EVEN),
        ((1.7e15 + EVEN * 1e6).astype(np.int64), 1.7e9 + EVEN),
    ],
)
def test_a_time_without_unit_is_taken_where_one_reading_makes_sense(read, times, seconds) -> None:
    np.testing.assert_allclose(read(log("", times)).time_s, seconds, atol=1e-6, rtol=0)


def test_a_time_without_unit_and_two_readings_is_asked_for(read) -> None:
    # Whole numbers, one a row: seconds at 1 Hz, or milliseconds at 1 kHz.
    with pytest.raises(LogError, match=r"fit s or ms\. Map it with its unit.*--column \"time=time:ms\""):
        read(log("", np.arange(2000)))


def test_a_time_that_stands_still_is_refused(read) -> None:
    with pytest.raises(LogError, match="fewer than two rows with a time of their own"):
        read(log("s", np.ones(100)))


def test_seconds_of_the_day_pass_midnight(read) -> None:
    time = (86390 + np.arange(500) / 20) % 86400
    recording = read(log("s", time))
    assert recording.quality.mended == {"midnights passed": 1}
    assert recording.quality.duration_s == pytest.approx(24.95)


def test_a_restart_that_lands_before_the_first_row_is_refused(read) -> None:
    time = np.concatenate([5000 + np.arange(300) / 250, np.arange(300) / 250])
    with pytest.raises(LogError, match=r"row 302: time jumps back by 5e\+03 s; the logger restarted"):
        read(log("s", time))
    assert read(log("s", time), allow_restart=True).quality.mended == {"restarts": 1}


def test_a_clock_that_was_set_is_refused(read) -> None:
    time = np.concatenate([np.arange(300) / 250, 1.7e9 + np.arange(300) / 250])
    with pytest.raises(LogError, match=r"row 302: time jumps ahead by 19676 days; the clock was set"):
        read(log("s", time))
    recording = read(log("s", time), allow_restart=True)
    assert recording.quality.duration_s == pytest.approx(10 + 2 * 299 / 250)
    assert "earlier than it says" in recording.history[-1]


def test_a_start_that_the_recorder_tells_is_one_though_time_goes_on() -> None:
    table = Table(
        time=np.arange(20.0), time_is_text=False, values=np.arange(20.0)[:, None], rows=np.arange(2, 22), mended={},
        remarks=(), starts=(12,),
    )  # fmt: skip
    with pytest.raises(LogError, match=r"^a.frames, row 14: the logger restarted\. Split the file there"):
        read_times(table, factor=1.0, file="a.frames")
    timed = read_times(table, factor=1.0, file="a.frames", allow_restart=True)
    assert np.diff(timed.time_s).tolist() == [1.0] * 11 + [10.0] + [1.0] * 7
    assert timed.order.tolist() == list(range(20))
