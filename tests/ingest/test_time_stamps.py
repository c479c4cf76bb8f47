"""Coarse stamps, wandering rates, jitter and gaps."""

import numpy as np
import pytest

from tests.ingest.lever_log import EVEN, RATE, log


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
