"""Lines of a drive: units, gate mm, and windows that show more when one looks closer."""

import numpy as np
import pytest

from dashboard.signals import cut_window, drive_lines, lever_path, whole_span
from shiftlog.model.drive import Drive, DriveHead, Signals
from shiftlog.model.gate import GateMap
from shiftlog.model.trace import Trace


def trace(values, rate_hz=250.0, place="lever") -> Trace:
    time_s = np.arange(len(values)) / rate_hz
    return Trace(
        time_s=time_s,
        values=np.asarray(values, dtype=float),
        spans=((0.0, float(time_s[-1])),),
        rate_hz=rate_hz,
        recording=place,
        place=place,
    )


@pytest.fixture
def turned_map(layout) -> GateMap:
    return GateMap(
        matrix=np.array([[0.0, 0.1], [-0.2, 0.0]]),
        offset=np.array([1.0, -2.0]),
        orientation="found",
        evidence="",
        scale="relative",
        seats=(),
        layout=layout,
        noise_mm=0.1,
    )


@pytest.fixture
def drive(car) -> Drive:
    counts = np.stack([np.linspace(0, 100, 5000), np.linspace(0, 50, 5000)], axis=1)
    accel = np.tile([3.0, 0.0, 4.0], (8000, 1))
    signals = Signals(
        lever=trace(counts),
        vehicle_speed=trace(np.full(200, 20.0), 10.0, "body"),
        accel={"gearbox": trace(accel, 1600.0, "gearbox")},
    )
    return Drive(head=DriveHead(id="d"), car=car, placed=(), clock_recording="lever", clock_zero_s=0.0, signals=signals)


def test_the_lever_is_drawn_in_gate_millimetres(drive, turned_map):
    select, engage = drive_lines(drive, turned_map)[:2]
    # gate mm = matrix · raw + offset, by hand for the last sample (100, 50).
    assert select.values[-1] == pytest.approx(0.1 * 50 + 1.0) and select.unit == "mm"
    assert engage.values[-1] == pytest.approx(-0.2 * 100 - 2.0)


def test_without_a_map_it_is_drawn_as_logged_and_says_so(drive):
    select = drive_lines(drive, None)[0]
    assert select.label == "Lever, select as logged" and select.values[-1] == 100.0
    assert lever_path(drive_lines(drive, None)).shape == (0, 2)


def test_acceleration_is_drawn_as_its_size(drive):
    accel = next(line for line in drive_lines(drive, None) if line.key == "accel")
    # A 3-4-5 triangle.
    np.testing.assert_allclose(accel.values, 5.0)


def test_a_closer_window_shows_samples_the_whole_could_not(drive, turned_map):
    lines = drive_lines(drive, turned_map)
    whole = cut_window(lines, None, points=200)
    close = cut_window(lines, (5.0, 5.4), points=200)
    in_whole = np.count_nonzero((whole.lines[0].time_s >= 5.0) & (whole.lines[0].time_s <= 5.4))
    assert close.lines[0].time_s.size > 5 * in_whole
    assert whole.whole_s == close.whole_s == whole_span(lines) == (0.0, pytest.approx(19.996, abs=0.2))


def test_a_drive_without_signals_has_a_span_all_the_same(car):
    empty = Drive(head=DriveHead(id="d"), car=car, placed=(), clock_recording="x", clock_zero_s=0.0, signals=Signals())
    assert drive_lines(empty, None) == () and cut_window((), None, points=10).whole_s == (0.0, 1.0)
