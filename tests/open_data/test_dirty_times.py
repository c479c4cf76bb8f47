"""Real logs (shared data; SOURCE.txt of each folder says where from), with time written and damaged in every way.

What is mended must be counted and must give what the undamaged log gives; what is refused is refused in one line that
names the file, the row and the mend.
"""

from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import numpy as np
import pytest

from shiftlog.errors import LogError
from tests.open_data.bench import Bench, every_log, stamps, time_column
from tests.open_data.real_logs import seconds_of, with_times

pytestmark = pytest.mark.open_data


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
    "a date in halves across midnight": ("time", iso("{0:%d.%m.%Y %I:%M:%S.%f %p}"), {}),
    "minutes and seconds across the hour": ("time", iso("{0:%M:%S.%f}"), {"hours passed": 1}),
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


@pytest.mark.parametrize(("name", "unit", "bits"), [("track", "ms", 16), ("track", "us", 24), ("phone", "us", 24)])
def test_counters_of_few_bits_wrap_again_and_again(bench: Bench, unit: str, bits: int) -> None:
    us = stamps(bench)
    counts = us // {"ms": 1000, "us": 1}[unit] + 2**bits - 500 * {"ms": 1, "us": 1000}[unit]
    recording = bench.read(with_times(bench.lines, f"time [{unit}]", [f"{c % 2**bits}" for c in counts]))
    assert dict(recording.quality.mended) == {f"{bits}-bit {unit} wraps": counts[-1] // 2**bits}
    np.testing.assert_allclose(seconds_of(recording), us * 1e-6, rtol=0, atol=1.1e-3)
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


@pytest.mark.parametrize("name", ["track", "phone", "commute"])
@pytest.mark.parametrize("off", [5, 5 * 24])
def test_a_few_rows_hours_ahead_cost_themselves(bench: Bench, off: int) -> None:
    us = stamps(bench)
    us[900:903] += off * 3_600_000_000
    damaged = with_times(bench.lines, "time [us]", [f"{t}" for t in us])
    recording = bench.read(damaged)
    assert recording.quality.mended["rows with a wrong time"] == 3
    kept = np.delete(np.arange(us.size), [900, 901, 902])
    np.testing.assert_allclose(recording.values, bench.clean.values[kept], rtol=1e-12)


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


@pytest.mark.parametrize("name", ["track", "phone"])
def test_a_wrap_in_a_long_hole(bench: Bench) -> None:
    us = stamps(bench)
    texts = [f"{(t + 2**32 - us[1000]) % 2**32}" for t in us]
    lines = with_times(bench.lines, "time [us]", texts)
    recording = bench.read(lines[:800] + lines[1300:])
    kinds = {"32-bit us wraps": 1, "holes that may be longer by turns of 4294.97 s": 1}
    assert recording.quality.mended == kinds
    assert np.diff(recording.time_s).max() == pytest.approx((us[1299] - us[798]) * 1e-6, abs=1e-6)


@pytest.mark.parametrize("name", ["track", "phone"])
@pytest.mark.parametrize("form", ["{0:%Y-%m-%d %H:%M:%S.%f}", "{0:%H:%M:%S.%f}", "{0:%d.%m.%Y %I:%M:%S.%f %p}"])
@pytest.mark.parametrize(("way", "hours"), [("forward", 1), ("back", -1)])
def test_a_clock_that_was_put_by_an_hour_goes_on(bench: Bench, form: str, way: str, hours: int) -> None:
    us = stamps(bench)
    start = datetime(2026, 10, 25, 2, 59, 50)
    moments = [start + timedelta(microseconds=int(t), hours=hours * (at > 700)) for at, t in enumerate(us)]
    recording = bench.read(with_times(bench.lines, "time", [form.format(m) for m in moments]))
    assert dict(recording.quality.mended) == {f"clock put {way} by an hour (summer time)": 1}
    np.testing.assert_allclose(seconds_of(recording), us * 1e-6, rtol=0, atol=1e-6)
    np.testing.assert_allclose(recording.values, bench.clean.values, rtol=1e-12)


@pytest.mark.parametrize("name", ["track", "phone"])
def test_a_pause_of_about_an_hour_is_a_gap(bench: Bench) -> None:
    us = stamps(bench) + np.where(np.arange(stamps(bench).size) > 700, 3_603_000_000, 0)
    recording = bench.read(with_times(bench.lines, "time", [iso("{0:%Y-%m-%d %H:%M:%S.%f}")(t) for t in us]))
    assert np.diff(recording.time_s).max() > 3600 and not recording.quality.mended
