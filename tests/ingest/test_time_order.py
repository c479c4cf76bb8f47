"""Rows out of order, copies, single wrong times, and logs that start anew."""

import time

import numpy as np
import pytest

from shiftlog.errors import LogError
from shiftlog.ingest.sheet import Table
from shiftlog.ingest.timebase import RESTART_GAP_S, read_times
from tests.ingest.lever_log import EVEN, log, rows


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


@pytest.mark.parametrize("off_s", [5 * 3600.0, 2.0, -5 * 3600.0, 9 * 86400.0])
@pytest.mark.parametrize("few", [2, 3, 6])
def test_a_few_rows_far_off_in_time_cost_themselves(read, few: int, off_s: float) -> None:
    times = EVEN.copy()
    times[700 : 700 + few] += off_s
    recording = read(log("s", times))
    np.testing.assert_array_equal(recording.time_s, np.delete(EVEN, np.arange(700, 700 + few)))
    assert recording.quality.mended == {"rows with a wrong time": few}


def test_a_few_rows_with_times_at_random_cost_themselves(read) -> None:
    times = EVEN.copy()
    times[700:703] = (18_000.0, 6.0, 900.0)
    assert read(log("s", times)).quality.mended == {"rows with a wrong time": 3}


@pytest.mark.parametrize("few", [1, 5])
@pytest.mark.parametrize("end", ["first", "last"])
def test_a_few_rows_days_off_at_either_end_cost_themselves(read, few: int, end: str) -> None:
    times = 1.79e9 + EVEN
    off = slice(None, few) if end == "first" else slice(-few, None)
    times[off] = EVEN[:few]
    recording = read(log("s", [f"{t:.3f}" for t in times]))
    assert recording.quality.mended == {"rows with a wrong time": few}
    assert recording.quality.duration_s == pytest.approx((EVEN.size - few - 1) / 250, abs=1e-3)


def test_rows_before_the_first_value_do_not_count_in_time(read) -> None:
    texts = [f"{t},," for t in EVEN[:50]] + rows(1.79e9 + EVEN)
    recording = read("\n".join(["time [s],select [mm],engage [mm]", *texts]))
    assert recording.time_s.size == EVEN.size
    assert recording.quality.mended == {"rows before the first value": 50}


@pytest.mark.parametrize(("first", "place"), [(1000, 300), (300, 1000)])
def test_a_few_rows_that_came_late_or_early_fill_their_hole(read, first: int, place: int) -> None:
    order = np.delete(np.arange(2000), np.arange(first, first + 5))
    order = np.insert(order, place, np.arange(first, first + 5))
    recording = read("\n".join(["time [s],select [mm],engage [mm]", *np.array(rows(EVEN))[order]]))
    np.testing.assert_array_equal(recording.values, read(log("s", EVEN)).values)


def test_a_restart_that_lands_before_the_first_row_is_refused(read) -> None:
    time = np.concatenate([5000 + np.arange(300) / 250, np.arange(300) / 250])
    with pytest.raises(LogError, match=r"row 302: time jumps back by 5001 s; the logger restarted"):
        read(log("s", time))
    assert read(log("s", time), allow_restart=True).quality.mended == {"restarts": 1}


def test_a_restart_that_ends_where_the_first_row_began_is_refused(read) -> None:
    time = np.concatenate([4 + np.arange(1000) / 250, np.arange(1010) / 250])
    with pytest.raises(LogError, match=r"row 1002: time jumps back by 8 s; the logger restarted"):
        read(log("s", time))


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


def _sessions(lengths: list[int], *, seed: int = 1) -> tuple[Table, np.ndarray]:
    """A log of sessions at 100 Hz that each begin near zero, and which session each row is of."""
    rng = np.random.default_rng(seed)
    times = [rng.uniform(0, 0.3) + np.arange(n) / 100 + rng.normal(0, 0.0005, n) for n in lengths]
    values = rng.normal(0, 1, (sum(lengths), 2))
    rows = np.arange(2, sum(lengths) + 2)
    table = Table(time=np.concatenate(times), time_is_text=False, values=values, rows=rows, mended={}, remarks=())
    return table, np.repeat(np.arange(len(lengths)), lengths)


@pytest.mark.parametrize(
    "lengths", [[2000] * 3, [2000] * 6, [6000, 1000, 1000, 1000], [5000, 300, 4800, 350, 5000], [3000, 2900, 3100]]
)
def test_sessions_that_each_begin_near_zero_are_not_laid_into_one_another(lengths) -> None:
    table, session = _sessions(lengths)
    timed = read_times(table, factor=1.0, file="a.csv", allow_restart=True)
    assert np.count_nonzero(np.diff(session[timed.order])) == len(lengths) - 1
    assert timed.mended == {"restarts": len(lengths) - 1}
    with pytest.raises(LogError, match=rf"row {lengths[0] + 2}: time jumps back"):
        read_times(table, factor=1.0, file="a.csv")


def test_a_header_in_mid_file_marks_a_restart_where_time_steps_back(read) -> None:
    header, texts = "time [s],select [mm],engage [mm]", rows(EVEN)
    # Without the header these four rows could as well have come late.
    with pytest.raises(LogError, match=r"row 1703: time jumps back by 6.81 s; the logger restarted"):
        read("\n".join([header, *texts[300:], header, *texts[296:300]]))
    recording = read("\n".join([header, *texts[:400], header, *texts[400:]]))
    assert recording.quality.mended == {"repeated headers": 1}


def test_a_log_without_any_row_says_so() -> None:
    nothing = np.zeros(0)
    table = Table(
        time=nothing, time_is_text=False, values=nothing.reshape(0, 2), rows=nothing.astype(int), mended={}, remarks=()
    )
    with pytest.raises(LogError, match="fewer than two rows"):
        read_times(table, factor=1.0, file="a.csv")
