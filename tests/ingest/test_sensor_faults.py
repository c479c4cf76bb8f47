"""What a lever's sensor says that no lever can have done: single values far off, and an axis that froze."""

import numpy as np
import pytest

from shiftlog.signal.axis_faults import find_spikes

RATE = 200.0
SECONDS = 100.0


def gate(*, tremble: float = 1.0, seed: int = 3) -> tuple[np.ndarray, np.ndarray]:
    """A lever that goes from gear to gear every two seconds, in counts."""
    rng = np.random.default_rng(seed)
    stay = np.minimum(np.arange(int(SECONDS * RATE)) // int(2 * RATE), 49)
    select, engage = rng.choice([350, 500, 650], 50)[stay], np.where(stay % 2, 350, 640)
    window = np.ones(30) / 30
    axes = (np.convolve(np.pad(a, 15, "edge"), window, "same")[15:-15] for a in (select, engage))
    return tuple(np.round(a + rng.normal(0, tremble, a.size)) for a in axes)


def text(select: np.ndarray, engage: np.ndarray) -> str:
    rows = [f"{k / RATE:.3f},{s:.0f},{e:.0f}" for k, (s, e) in enumerate(zip(select, engage, strict=True))]
    return "\n".join(["time [s],select [count],engage [count]", *rows])


def test_single_values_far_off_are_missing_and_counted(read) -> None:
    select, engage = gate()
    select[1000::3000] = 99_999_999
    engage[[2222, 7777, 7778]] = 0
    quality = (recording := read(text(select, engage))).quality
    assert quality.mended == {"single values far off": 10}
    assert np.isnan(recording.column("select")[1000::3000]).all()
    assert np.isfinite(recording.column("select")).sum() == select.size - 7
    assert quality.clipped == 0


def test_a_sound_lever_loses_nothing(read) -> None:
    for tremble in (0.0, 0.2, 1.0, 5.0):
        recording = read(text(*gate(tremble=tremble)))
        assert recording.quality.mended == {} and not recording.quality.frozen_s
        assert np.isfinite(recording.values).all()


def test_a_lever_that_springs_back_is_no_single_value() -> None:
    time = np.arange(0, 3, 1 / RATE)
    swing = 300 + 200 * np.exp(-3 * time) * np.cos(2 * np.pi * 9 * time)
    assert not find_spikes(time, swing).any()
    slow = np.arange(0, 20, 0.1)
    assert not find_spikes(slow, np.where(np.arange(slow.size) % 7 == 0, 500.0, 300.0)).any()


@pytest.mark.parametrize("axis", ["select", "engage"])
@pytest.mark.parametrize("until", [14_000, 20_000])
def test_an_axis_that_freezes_on_the_way_holds_no_value_from_there(read, axis: str, until: int) -> None:
    axes = dict(zip(("select", "engage"), gate(), strict=True))
    axes[axis][8000:until] = 512
    recording = read(text(**axes))
    assert recording.quality.frozen_s == {axis: pytest.approx((until - 8000) / RATE, rel=0.001)}
    assert np.isnan(recording.column(axis)[8000:until]).all()
    assert np.isfinite(recording.column(axis)[:8000]).all()
    other = "engage" if axis == "select" else "select"
    assert np.isfinite(recording.column(other)).all()


def test_a_lever_cut_off_at_an_end_that_is_no_rail_is_clipped(read) -> None:
    select, engage = gate()
    cut = read(text(np.minimum(select, 600), engage))
    assert cut.quality.clipped_by == {"select": int(np.count_nonzero(select >= 600))}
    assert read(text(*gate(tremble=0.0))).quality.clipped == 0


def speeds(*, rpm_per_kmh: float = 40.0) -> tuple[np.ndarray, np.ndarray]:
    """Engine and vehicle speed of a car that stands, drives between 30 and 80 km/h, and rolls out at idle."""
    time = np.arange(0, 200, 0.1)
    kmh = np.round(np.clip(55 + 25 * np.sin(time / 9), 0, None) * np.clip((time - 20) / 5, 0, 1), 1)
    kmh[1700:] = np.round(np.linspace(kmh[1699], 0, 300), 1)
    rpm = np.round(np.maximum(kmh * rpm_per_kmh, 850))
    rpm[1700:] = 850
    rpm[:100] = 850 + 30 * np.arange(100)
    return rpm, kmh


def bus(rpm: np.ndarray, kmh: np.ndarray) -> str:
    rows = [f"{k / 10:.1f},{r:.0f},{v:.1f}" for k, (r, v) in enumerate(zip(rpm, kmh, strict=True))]
    return "\n".join(["time [s],engine_speed [rpm],vehicle_speed [km/h]", *rows])


@pytest.mark.parametrize(("name", "value"), [("engine_speed", 2100.0), ("vehicle_speed", 50.0)])
def test_a_speed_that_is_held_while_the_other_changes_holds_no_value(read, name: str, value: float) -> None:
    columns = dict(zip(("rpm", "kmh"), speeds(), strict=True))
    columns["rpm" if name == "engine_speed" else "kmh"][800:1300] = value
    recording = read(bus(**columns))
    assert recording.quality.frozen_s == {name: pytest.approx(50, abs=0.5)}
    gone = np.flatnonzero(np.isnan(recording.column(name)))
    assert gone.min() == pytest.approx(800, abs=1) and gone.max() == pytest.approx(1299, abs=1)


def test_standstill_idle_and_a_steady_cruise_are_no_held_speeds(read) -> None:
    rpm, kmh = speeds()
    kmh[600:900], rpm[600:900] = 60.0, 2400 + np.arange(300) % 30
    rpm[750:900] *= 0.7  # the next gear at the same speed
    recording = read(bus(rpm, kmh))
    assert not recording.quality.frozen_s
    assert np.isfinite(recording.values).all()
