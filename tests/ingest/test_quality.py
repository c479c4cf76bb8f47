"""What a log is worth: clipping, noise, bandwidth, stuck channels, sentinels."""

import numpy as np
import pytest

RATE = 400.0


def log(header: str, columns: list[np.ndarray], *, digits: int = 4) -> str:
    time = np.arange(len(columns[0])) / RATE
    rows = [f"{t:.4f}," + ",".join(f"{v:.{digits}f}" for v in row) for t, *row in zip(time, *columns, strict=True)]
    return "\n".join([f"time [s],{header}", *rows])


ACCEL = "accel_x [m/s^2],accel_y [m/s^2],accel_z [m/s^2]"


def noise(sigma: float, seed: int = 1, count: int = 8000) -> list[np.ndarray]:
    rng = np.random.default_rng(seed)
    return list(rng.normal(0, sigma, (3, count)))


def test_noise_floor_is_that_of_the_quietest_second(read) -> None:
    axes = noise(0.05)
    axes[0][2000:] += 3 * np.sin(np.arange(6000) / 3)
    # 400 samples of white noise: the least of a few seconds lies some per cent below sigma.
    assert read(log(ACCEL, axes)).quality.noise_mps2 == pytest.approx(0.05, rel=0.1)


def test_peaks_cut_flat_are_clipped_and_limits_known(read) -> None:
    axes = noise(2.0)
    axes[2] += 30 * np.sin(np.arange(8000) / 9) * (np.arange(8000) > 6000)
    flat = np.clip(axes[2], -19.6133, 19.6133)
    recording = read(log(ACCEL, [axes[0], axes[1], flat]))
    assert recording.channel("accel_z").limits == pytest.approx((-19.6133, 19.6133))
    assert recording.quality.clipped == np.count_nonzero(np.abs(flat) >= 19.6133)
    assert recording.channel("accel_x").limits is None


def test_noise_alone_is_not_clipped(read) -> None:
    quality = read(log(ACCEL, noise(0.05), digits=2)).quality
    assert quality.clipped == 0


def test_a_lever_that_lies_still_in_gear_is_not_clipped_but_one_at_the_rail_is(read) -> None:
    wave = 512 + 300 * np.sign(np.sin(np.arange(8000) / 500))
    lever = read(log("select [count],engage [count]", [wave, wave], digits=0))
    assert lever.quality.clipped == 0
    rail = np.clip(wave + 400, 0, 1023)
    assert read(log("select [count],engage [count]", [rail, wave], digits=0)).quality.clipped > 3000


def test_bandwidth_is_two_fifths_of_the_rate_of_new_values(read) -> None:
    axes = noise(1.0)
    assert read(log(ACCEL, axes)).quality.bandwidth_hz == pytest.approx(0.4 * RATE, rel=1e-6)
    held = [np.repeat(axis[::4], 4) for axis in axes]
    assert read(log(ACCEL, held)).quality.bandwidth_hz == pytest.approx(0.4 * RATE / 4, rel=0.01)


def test_a_stuck_channel_is_named(read) -> None:
    x, y, _ = noise(1.0)
    assert read(log(ACCEL, [x, y, np.full(8000, 9.81)])).quality.stuck == ("accel_z",)


def test_resolution_is_the_smallest_step(read) -> None:
    wave = np.round(100 * np.sin(np.arange(8000) / 300)) * 0.25
    recording = read(log("select [V],engage [V]", [wave, wave]))
    assert recording.channel("select").resolution == pytest.approx(0.25)


def test_speeds_of_minus_one_are_missing(read) -> None:
    speed = np.abs(20 * np.sin(np.arange(400) / 50))
    speed[:7] = -1
    recording = read(log("vehicle_speed [km/h]", [speed]))
    assert np.count_nonzero(np.isnan(recording.column("vehicle_speed"))) == 7
    assert recording.quality.mended == {"speeds of -1 taken as missing": 7}


def test_a_car_that_rolls_back_keeps_its_negative_speeds(read) -> None:
    speed = 20 * np.sin(np.arange(400) / 50)
    recording = read(log("vehicle_speed [m/s]", [speed]))
    assert np.nanmin(recording.column("vehicle_speed")) == pytest.approx(-20, abs=0.01)


def test_signals_in_rows_of_their_own_have_the_rate_of_the_fastest(read) -> None:
    time = np.arange(0, 20, 0.01)
    rows = [(t + 0.001, f"{800 + k % 50},") for k, t in enumerate(time)]
    rows += [(t + 0.004, f",{k % 90}") for k, t in enumerate(time[::3])]
    lines = [f"{t:.4f},{cells}" for t, cells in sorted(rows)]
    quality = read("\n".join(["time [s],engine_speed [rpm],vehicle_speed [km/h]", *lines])).quality
    assert quality.rate_hz == pytest.approx(100, rel=1e-3)
    assert quality.jitter_s < 1e-4 and quality.gaps == () and (quality.dropped, quality.samples) == (0, 2000)
