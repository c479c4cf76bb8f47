"""Open logs as a technician would take them in: a drive folder made of the log, then measured."""

from collections.abc import Callable, Sequence
from pathlib import Path

import pytest

from shiftlog.ingest.add import plan_drive, write_drive
from shiftlog.ingest.add_options import AddOptions
from shiftlog.model.result import DriveResult
from shiftlog.pipeline import load_drive, measure_drive
from tests.open_data.bench import Bench
from tests.open_data.real_logs import LOGS

Measure = Callable[[Sequence[Path], str, AddOptions], DriveResult]


@pytest.fixture(scope="module")
def measure(tmp_path_factory) -> Measure:
    """Measures logs with a car of which only the gate is known, by its forward gears."""

    def run(logs: Sequence[Path], gears: str, options: AddOptions) -> DriveResult:
        folder = tmp_path_factory.mktemp("drive")
        pairs = [gears[i : i + 2] for i in range(0, len(gears), 2)]
        planes = ", ".join("{ " + ", ".join(f'{k} = "{g}"' for k, g in zip(("forward", "rear"), p, strict=False)) + " }"
                           for p in pairs)  # fmt: skip
        (folder / "car.toml").write_text(f'[car]\nname = "unknown"\n[gate]\nplanes = [{planes}]\n')
        plan = plan_drive(logs, folder / "car.toml", options=options)
        return measure_drive(load_drive(write_drive(plan, folder / "drive")))

    return run


@pytest.fixture
def bench(name: str, open_data: Path, tmp_path: Path) -> Bench:
    return Bench(LOGS[name], open_data, tmp_path)
