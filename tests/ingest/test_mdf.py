"""ASAM MDF 4: groups of different rates, units, conversions and samples marked as invalid."""

from collections.abc import Callable
from pathlib import Path

import asammdf
import can
import numpy as np
import pytest

from shiftlog.errors import LogError
from shiftlog.ingest.columns import ColumnWish
from shiftlog.ingest.log_file import LogRequest, read_log
from shiftlog.model.recording import Recording
from shiftlog.units import MPS_PER_KMH
from tests.ingest.bus_writer import SIGNALS_TOML, drive_frames, truth

FAST, SLOW = np.arange(0, 10, 0.01), np.arange(0.003, 10, 0.02)


def signal(name: str, time: np.ndarray, values: np.ndarray, **more: object) -> asammdf.Signal:
    return asammdf.Signal(samples=values, timestamps=time, name=name, **more)


@pytest.fixture
def log(tmp_path: Path) -> Path:
    mdf = asammdf.MDF(version="4.10")
    gear = {"val_0": 0, "text_0": "N", "val_1": 1, "text_1": "first"}
    rpm = signal("engine_speed", FAST, (800 + 100 * FAST).astype("f4"), unit="rpm")
    mdf.append([rpm, signal("gear", FAST, (FAST > 5).astype("u1"), conversion=gear)])
    invalid = np.arange(SLOW.size) % 50 == 0
    raw = np.round(1000 * SLOW).astype("u2")
    mdf.append([
        signal("vehicle_speed", SLOW, raw, unit="km/h", conversion={"a": 0.01, "b": 0.5}, invalidation_bits=invalid),
        signal("engine_speed", SLOW, raw, unit="rpm"),
    ])  # fmt: skip
    return Path(mdf.save(tmp_path / "log.mf4"))


@pytest.fixture
def read() -> Callable[..., Recording]:
    return lambda path, **more: read_log(
        LogRequest(path=path, file=path.name, name="m", place="engine", clock="m", **more)
    )


def test_groups_of_two_rates(log, read) -> None:
    recording = read(log)
    rpm, speed = recording.column("engine_speed"), recording.column("vehicle_speed")
    held = np.isfinite(rpm)
    assert recording.time_s[held] == pytest.approx(FAST) and rpm[held] == pytest.approx(800 + 100 * FAST)
    valid = np.arange(SLOW.size) % 50 != 0
    held = np.isfinite(speed)
    assert recording.time_s[held] == pytest.approx(SLOW[valid])
    assert speed[held] == pytest.approx((np.round(1000 * SLOW[valid]) * 0.01 + 0.5) * MPS_PER_KMH)
    assert recording.quality.mended == {"samples marked as invalid": 10}
    assert recording.quality.rate_hz == pytest.approx(100, rel=1e-6)
    assert recording.quality.gaps == ()


def test_the_second_of_one_name_is_named_by_its_group(log, read) -> None:
    recording = read(log, wishes=(ColumnWish(channel="engine_speed", column="engine_speed of group 1"),))
    column = recording.column("engine_speed")
    assert column[np.isfinite(column)] == pytest.approx(np.round(1000 * SLOW))


def test_texts_behind_numbers_leave_the_numbers(log, read) -> None:
    recording = read(log, wishes=(ColumnWish(channel="clutch", column="gear", unit="1"),))
    column = recording.column("clutch")
    assert np.unique(column[np.isfinite(column)]).tolist() == [0, 1]


def test_frames_recorded_in_an_mdf_are_decoded(tmp_path, read) -> None:
    path, decode = tmp_path / "bus.mf4", tmp_path / "signals.toml"
    decode.write_text(SIGNALS_TOML)
    frames = drive_frames()
    with can.Logger(path) as logger:
        for frame in frames:
            logger(frame)
    recording = read(path, decode=decode)
    column = recording.column("engine_speed")
    assert column[np.isfinite(column)] == pytest.approx(truth(frames)["engine_speed"])
    with pytest.raises(LogError, match="frames of a CAN bus.*--decode signals.toml"):
        read(path)


def test_a_damaged_mdf_is_one_line(log, read, tmp_path, capfd) -> None:
    path = tmp_path / "cut.mf4"
    path.write_bytes(log.read_bytes()[:300])
    with pytest.raises(LogError, match="^cut.mf4: ") as caught:
        read(path)
    assert "\n" not in str(caught.value) and capfd.readouterr() == ("", "")
    path.write_bytes(b"\0" * 300)
    with pytest.raises(LogError, match="^cut.mf4: does not begin as a MDF 4 log does"):
        read(path)
