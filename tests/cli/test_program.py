"""The program around the commands: help, usage, exit codes, faults of its own, and readers that go away."""

import json
import os
import subprocess
import sys
import time

import pytest

from shiftlog import __version__, cli
from shiftlog.cli import COMMANDS, main

from .conftest import PROJECT

HEAVY = ("numpy", "scipy", "pandas", "pydantic", "dash", "plotly")
QUICK_S = 0.2


def test_help_loads_no_heavy_library():
    script = (
        "import sys; from shiftlog.cli import main\n"
        "try: main(['--help'])\nexcept SystemExit: pass\n"
        f"print([m for m in {HEAVY} if m in sys.modules])"
    )
    said = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, cwd=PROJECT)
    assert said.stdout.strip().endswith("[]")


def test_help_is_quick():
    # The best of five: other work on the machine slows a start, nothing speeds it up.
    assert min(_seconds() for _ in range(5)) < QUICK_S


def _seconds() -> float:
    began = time.perf_counter()
    subprocess.run([sys.executable, "-m", "shiftlog", "--help"], capture_output=True, cwd=PROJECT, check=True)
    return time.perf_counter() - began


def test_help_names_every_command_and_version_is_the_package_s(run):
    said = run("--help")
    assert said.returncode == 0
    assert all(f"\n    {command} " in said.stdout for command in COMMANDS)
    assert run("--version").stdout == f"shiftlog {__version__}\n"


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_explains_itself(run, command):
    said = run(command, "--help")
    assert said.returncode == 0, said.stderr
    assert said.stdout.startswith(f"usage: shiftlog {command}")


USAGE = {
    "an unknown command": (["frobnicate"], "invalid choice: 'frobnicate'"),
    "no drive": (["measure"], "DRIVE"),
    "one side only": (["compare", "--before", "a"], "--after"),
    "an unknown option": (["check", "a", "--fast"], "--fast"),
    "a port that is none": (["serve", "--port", "99999"], "ports run from 0 to 65535"),
    "a redline of nothing": (["car", "car.toml", "--redline", "0"], "--redline: '0' is no number above 0"),
}


@pytest.mark.parametrize("name", USAGE)
def test_wrong_usage_is_one_line_and_exit_2(run, name, tmp_path):
    arguments, expected = USAGE[name]
    said = run(*arguments, cwd=tmp_path)
    assert (said.returncode, said.stdout) == (2, "")
    lines = said.stderr.splitlines()
    assert len(lines) == 1
    assert lines[0].startswith("shiftlog") and expected in lines[0] and lines[0].endswith("--help")
    assert list(tmp_path.iterdir()) == []


def test_no_command_shows_the_commands(run):
    said = run()
    assert said.returncode == 2
    assert "measure" in said.stdout


@pytest.mark.parametrize("traceback_wanted", [False, True])
def test_a_fault_of_our_own_is_exit_1_and_a_traceback_only_on_request(monkeypatch, capsys, traceback_wanted):
    def break_down(arguments):
        raise RuntimeError("two\nlines")

    monkeypatch.setattr(cli, "_run", break_down)
    monkeypatch.delenv("SHIFTLOG_TRACEBACK", raising=False)
    if traceback_wanted:
        monkeypatch.setenv("SHIFTLOG_TRACEBACK", "1")
    assert main(["measure", "x"]) == 1
    said = capsys.readouterr().err
    assert "a fault of shiftlog itself (RuntimeError: two lines)" in said.splitlines()[0]
    assert (len(said.splitlines()) > 1) is traceback_wanted
    assert ("Traceback" in said) is traceback_wanted


@pytest.mark.skipif(os.name == "nt", reason="Windows tells a closed pipe otherwise than POSIX")
@pytest.mark.parametrize("buffered", ["", "1"])
@pytest.mark.parametrize("arguments", [["--help"], ["measures"]])
def test_a_reader_that_goes_away_is_no_fault(arguments, buffered):
    reading, writing = os.pipe()
    os.close(reading)
    try:
        said = subprocess.run(
            [sys.executable, "-m", "shiftlog", *arguments], stdout=writing, stderr=subprocess.PIPE, text=True,
            cwd=PROJECT, env={**os.environ, "PYTHONUNBUFFERED": buffered}, timeout=60,
        )  # fmt: skip
    finally:
        os.close(writing)
    assert (said.returncode, said.stderr) == (0, "")


def test_a_terminal_that_lacks_a_letter_loses_that_letter_only(run, make_drive):
    assert "approach_speed_mmps" in run("measures", PYTHONIOENCODING="ascii").stdout
    said = run("measure", make_drive(), PYTHONIOENCODING="ascii")
    assert said.returncode == 0, said.stderr


def test_json_is_utf_8_whatever_the_terminal_speaks(run, make_drive):
    drive = make_drive()
    car = drive / "car.toml"
    car.write_text(car.read_text(encoding="utf-8").replace("Test car", "Coupé"), encoding="utf-8")
    said = run("measure", drive, "--json", "-", PYTHONIOENCODING="ascii")
    assert json.loads(said.stdout)["car"] == "Coupé"
