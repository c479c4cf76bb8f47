"""A real log on the bench: its lines to be damaged, and what it gives undamaged."""

from pathlib import Path

import numpy as np
import pytest

from shiftlog.model.recording import Recording
from tests.open_data.real_logs import LOGS, RealLog, joined, read_log_bytes, seconds_of

every_log = pytest.mark.parametrize("name", LOGS)
READ: dict[RealLog, Recording] = {}
"""Each undamaged log, read once."""


class Bench:
    """One log, its lines, and what it gives undamaged."""

    def __init__(self, log: RealLog, open_data: Path, folder: Path) -> None:
        self.log, self.folder, self.lines = log, folder, log.lines(open_data)
        if log not in READ:
            (folder / "clean").mkdir()
            READ[log] = read_log_bytes(joined(self.lines), folder / "clean", log)
        self.clean = READ[log]

    def read(self, content: bytes | list[str], **options: bool):
        return read_log_bytes(
            joined(content) if isinstance(content, list) else content, self.folder, self.log, **options
        )

    def assert_same(self, damaged, *, mended: dict[str, int], kept: np.ndarray | None = None) -> None:
        """The damaged log gives the undamaged one's samples, or those of them that are ``kept``, and these counts."""
        kept = np.arange(self.clean.time_s.size) if kept is None else kept
        added = {k: v for k, v in damaged.quality.mended.items() if self.clean.quality.mended.get(k) != v}
        assert added == mended
        assert [c.name for c in damaged.channels] == [c.name for c in self.clean.channels]
        np.testing.assert_allclose(damaged.time_s, self.clean.time_s[kept], rtol=0, atol=1e-6)
        np.testing.assert_allclose(damaged.values, self.clean.values[kept], rtol=1e-12, atol=1e-12)


def name_of(bench: Bench) -> str:
    return next(name for name, log in LOGS.items() if log is bench.log)


def time_column(bench: Bench) -> int:
    return 2 if name_of(bench) == "imu" else 0


def stamps(bench: Bench) -> np.ndarray:
    """The log's own times, whole microseconds from its start."""
    return np.round(seconds_of(bench.clean) * 1e6).astype(np.int64)
