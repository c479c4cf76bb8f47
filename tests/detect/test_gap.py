"""The drive gap on accelerations drawn with a ruler: where the ramps are known, so are the 50 % points."""

from dataclasses import replace

import numpy as np
import pytest

from shiftlog.detect.gap import locate_drive_gap, read_drive_gap
from shiftlog.errors import CannotMeasure
from shiftlog.model.settings import Settings
from shiftlog.model.trace import Trace

SETTINGS = Settings()
FALL_S, RISE_S = 0.12, 0.2


def accelerate(
    levels: tuple[float, float, float],
    *,
    start_s: float = 5.0,
    end_s: float = 5.8,
    rate_hz: float = 100.0,
    noise: float = 0.0,
    zero_s: float = 0.0,
    jitter_s: float = 0.0,
) -> Trace:
    """Level, ramp down about ``start_s``, level, ramp up about ``end_s``, level. The ramps' middles are the truth."""
    rng = np.random.default_rng(4)
    time = np.sort(np.arange(0, 12, 1 / rate_hz) + rng.normal(0, jitter_s, round(12 * rate_hz)))
    corners = [start_s - FALL_S / 2, start_s + FALL_S / 2, end_s - RISE_S / 2, end_s + RISE_S / 2]
    before, middle, after = levels
    values = np.interp(time, corners, [before, middle, middle, after]) + rng.normal(0, noise, time.size)
    return Trace(
        time_s=time + zero_s, values=values, spans=((time[0] + zero_s, time[-1] + zero_s),), rate_hz=rate_hz,
        recording="phone", place="body",
    )  # fmt: skip


@pytest.mark.parametrize(
    "levels",
    [(3.0, -0.3, 2.5), (1.2, -0.2, 1.0), (2.5, 0.0, 0.9), (-1.5, 0.1, -2.2), (4.0, 1.0, 3.5), (-0.2, -2.6, -0.6)],
    ids=["hard drive", "gentle", "less after", "engine braking", "uphill", "downhill"],
)
@pytest.mark.parametrize(("rate_hz", "noise"), [(1000.0, 0.3), (100.0, 0.05), (50.0, 0.05), (10.0, 0.02)])
def test_both_half_way_points_are_found_either_way_round(levels, rate_hz: float, noise: float) -> None:
    trace = accelerate(levels, rate_hz=rate_hz, noise=noise, jitter_s=0.05 / rate_hz)
    found = locate_drive_gap(trace, (5.1, 5.75), SETTINGS)
    # A zero-phase low-pass leaves the middle of a lone ramp where it is; the other ramp 0.8 s away and noise move it
    # by up to 15 ms, sampling at 10 Hz by 25.
    assert found == pytest.approx((5.0, 5.8), abs=0.025 if rate_hz < 20 else 0.015)


@pytest.mark.parametrize("around", [(4.85, 6.0), (5.25, 5.6), (5.05, 5.9)])
def test_the_result_does_not_hang_on_where_the_search_begins(around: tuple[float, float]) -> None:
    assert locate_drive_gap(accelerate((2.0, -0.2, 1.6)), around, SETTINGS) == pytest.approx((5.0, 5.8), abs=0.01)


def test_three_columns_are_read_by_their_first() -> None:
    flat = accelerate((2.0, -0.2, 1.6))
    values = np.stack([flat.values, 9 + flat.values, 0 * flat.values], axis=1)
    wide = Trace(time_s=flat.time_s, values=values, spans=flat.spans, rate_hz=100.0, recording="phone", place="body")
    assert locate_drive_gap(wide, (5.1, 5.7), SETTINGS) == locate_drive_gap(flat, (5.1, 5.7), SETTINGS)


def test_shifting_all_times_shifts_the_gap() -> None:
    here = locate_drive_gap(accelerate((2.0, 0.0, 1.6)), (5.1, 5.7), SETTINGS)
    there = locate_drive_gap(accelerate((2.0, 0.0, 1.6), zero_s=700.0), (705.1, 705.7), SETTINGS)
    assert there == pytest.approx((here[0] + 700, here[1] + 700), abs=1e-6)


def test_mirroring_the_acceleration_changes_nothing() -> None:
    drive, brake = accelerate((2.0, 0.0, 1.6)), accelerate((-2.0, 0.0, -1.6))
    assert locate_drive_gap(drive, (5.1, 5.7), SETTINGS) == locate_drive_gap(brake, (5.1, 5.7), SETTINGS)


@pytest.mark.parametrize(
    ("trace", "around", "why"),
    [
        (accelerate((0.2, 0.0, 0.2)), (5.0, 5.8), "does not leave and return"),
        (accelerate((2.0, 0.0, -1.5)), (5.0, 5.8), "throttle closed afterwards"),
        (accelerate((-6.0, -6.0, -6.0), noise=0.5), (5.0, 5.8), "braking"),
        (accelerate((-6.0, -0.2, -5.0)), (5.0, 5.8), "brakes were on"),
        (accelerate((2.0, 0.0, 2.0), noise=8.0), (5.0, 5.8), "does not leave and return"),
        (accelerate((2.0, 0.0, 2.0), rate_hz=1.0), (5.0, 5.8), "1.0 times a second"),
        (accelerate((2.0, 0.0, 2.0)), (11.5, 12.1), "a hole or an end"),
    ],
    ids=["too weak", "not back", "braking", "brakes let go and pressed again", "noise", "1 Hz", "end of log"],
)
def test_what_cannot_be_seen_is_refused_with_the_reason(trace: Trace, around, why: str) -> None:
    with pytest.raises(CannotMeasure, match=why):
        locate_drive_gap(trace, around, SETTINGS)


def test_a_slow_recorder_leaves_more_uncertain() -> None:
    """Two ends, each known to within one sample: a rectangle of width 1/rate has the deviation 1/(rate √12)."""
    traces = [accelerate((2.0, 0.0, 1.6), rate_hz=rate) for rate in (10.0, 100.0)]
    slow, quick = (read_drive_gap(trace, (5.0, 5.8), SETTINGS) for trace in traces)
    assert slow.value == quick.value == pytest.approx(0.8)
    assert slow.uncertainty > 0.1 * np.sqrt(2) / np.sqrt(12) > quick.uncertainty


def test_a_road_that_shakes_leaves_more_uncertain() -> None:
    calm, rough = (accelerate((2.0, 0.0, 1.6), noise=noise) for noise in (0.02, 1.0))
    readings = [read_drive_gap(trace, (5.0, 5.8), SETTINGS) for trace in (calm, rough)]
    assert readings[1].uncertainty > 3 * readings[0].uncertainty


def test_a_blow_that_crosses_the_level_by_itself_widens_the_interval() -> None:
    """A dip of the road just before drive falls: where the crossing is not held, its end may lie up to where it is."""
    plain = accelerate((2.0, 0.0, 1.6))
    dip = -2.6 * np.exp(-(((plain.time_s - 4.72) / 0.06) ** 2)) + 1.6 * np.exp(-(((plain.time_s - 4.86) / 0.06) ** 2))
    struck = replace(plain, values=plain.values + dip)
    located = locate_drive_gap(struck, (5.1, 5.75), SETTINGS)
    assert located[0] < 4.9
    low, high = read_drive_gap(struck, located, SETTINGS).interval95
    assert low <= 0.8 <= high
    assert high - low > 3 * np.ptp(read_drive_gap(plain, (5.0, 5.8), SETTINGS).interval95)
