"""The real command line in a process of its own, on drive folders made for the purpose."""

import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from shiftlog.cli import main
from shiftlog.synth.recorder import Sensors
from shiftlog.synth.scenario import make_drive as synthesise

PROJECT = Path(__file__).resolve().parents[2]
CAR = """format = 1
[car]
name = "Test car"
redline_rpm = 7000
[gate]
planes = [ { forward = "1", rear = "2" }, { forward = "3", rear = "4" }, { forward = "5", rear = "R" } ]
home = "3-4"
"""
LEVER = '[[recording]]\nname = "lever"\nfile = "lever.csv"\nplace = "lever"\n'
SEATS = {"1": (-25, 15), "2": (-25, -15), "3": (0, 15), "4": (0, -15), "5": (25, 15)}


def run_shiftlog(*arguments, cwd=None, timeout=120, **environment):
    """One command in a process of its own; its text is UTF-8 whatever the machine's habit."""
    env = {**os.environ, "PYTHONPATH": str(PROJECT), "PYTHONIOENCODING": "utf-8", **environment}
    return subprocess.run(
        [sys.executable, "-m", "shiftlog", *map(str, arguments)], capture_output=True, encoding="utf-8",
        stdin=subprocess.DEVNULL, cwd=cwd, env=env, timeout=timeout,
    )  # fmt: skip


@pytest.fixture(scope="session")
def run():
    return run_shiftlog


@pytest.fixture
def call(capsys):
    """The same command in this process: quicker, where nothing of the process itself is looked at."""

    def call_main(*arguments):
        capsys.readouterr()
        code = main([str(a) for a in arguments])
        said = capsys.readouterr()
        return subprocess.CompletedProcess(arguments, code, said.out, said.err)

    return call_main


@pytest.fixture(scope="session")
def full_drive(tmp_path_factory):
    """A synthesised drive with every sensor the product knows. Not to be changed; copy it."""
    made = synthesise(car="hatch5", seed=7, health="worn", minutes=1.5)
    return made.write(tmp_path_factory.mktemp("full") / "full", stage="before", driver="B")


@pytest.fixture(scope="session")
def drive_on_two_clocks(tmp_path_factory):
    """A synthesised drive whose phone tells neither its clock nor its mounting, and shares nothing with the lever."""
    sensors = Sensors(declare_clock=False, declare_mounting=False, gearbox_rate_hz=None, bus_rate_hz=None)
    made = synthesise(car="hatch5", seed=4, minutes=1.5, sensors=sensors)
    return made.write(tmp_path_factory.mktemp("two") / "two", stage="after")


def lever_rows(gears=("1", "2", "3", "4", "5", "4", "3", "2")):
    """Counts of a lever taken through the gears, 200 Hz, 10 counts a millimetre."""
    place, path = np.zeros(2), [np.zeros((400, 2))]
    for gear in gears:
        select, engage = SEATS[gear]
        for target in ((place[0], 0.0), (select, 0.0), (select, engage)):
            u = np.arange(1, 25)[:, None] / 24
            path.append(place + (np.array(target) - place) * (u**3 * (10 - 15 * u + 6 * u**2)))
            place = np.array(target, dtype=float)
        path.append(np.tile(place, (300, 1)))
    counts = np.round(np.concatenate(path) * 10 + 512)
    return [f"{k / 200:.4f},{a:.0f},{b:.0f}" for k, (a, b) in enumerate(counts)]


@pytest.fixture
def make_drive(tmp_path):
    def make(name="drive", recordings=LEVER, rows=None, car=CAR, header="time [s],select [count],engage [count]"):
        folder = tmp_path / name
        folder.mkdir()
        (folder / "car.toml").write_text(car)
        (folder / "drive.toml").write_text(f'format = 1\n[car]\nprofile = "car.toml"\n{recordings}')
        (folder / "lever.csv").write_text("\n".join([header, *(lever_rows() if rows is None else rows)]) + "\n")
        return folder

    return make
