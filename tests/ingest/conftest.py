"""A small log and a way to read it, so that a test shows only what it is about."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from shiftlog.ingest.log_file import LogRequest, read_log
from shiftlog.model.recording import Recording

HEADER = "time [s],select [count],engage [count]"


def lever_rows(count: int = 500, *, rate_hz: float = 250.0, start_s: float = 0.0) -> list[str]:
    """Rows of a lever that moves, on an even clock."""
    time = start_s + np.arange(count) / rate_hz
    select = np.round(2000 + 200 * np.sin(3 * time))
    engage = np.round(2100 + 150 * np.cos(5 * time))
    return [f"{t:.6f},{s:.0f},{e:.0f}" for t, s, e in zip(time, select, engage, strict=True)]


@pytest.fixture
def read(tmp_path: Path) -> Callable[..., Recording]:
    """Writes bytes or text as lever.csv and reads it."""

    def write_and_read(content: bytes | str, **request: object) -> Recording:
        path = tmp_path / "lever.csv"
        path.write_bytes(content.encode() if isinstance(content, str) else content)
        defaults = {"file": "lever.csv", "name": "lever", "place": "lever", "clock": "logger"}
        return read_log(LogRequest(path=path, **{**defaults, **request}))

    return write_and_read


@pytest.fixture
def lines() -> list[str]:
    """A header and 500 rows at 250 Hz."""
    return [HEADER, *lever_rows()]
