"""`.ci/run` runs the README's own test command, passes its exit code on, and says when it is not there."""

import os
import shutil
import stat
import subprocess

import pytest

from .conftest import PROJECT

pytestmark = pytest.mark.skipif(os.name == "nt", reason=".ci/run is a bash script for Linux")

TEST_COMMAND = "python3 -m venv .venv && .venv/bin/pip install -q -e '.[dev]' && .venv/bin/python -m pytest -n 2"


@pytest.fixture
def run_ci(tmp_path):
    """`.ci/run` of a project that holds a README alone, with stand-ins for python3 and the browser."""
    if shutil.which("bash") is None:
        pytest.skip("there is no bash on this machine; .ci/run is a bash script")

    def call(readme: str, *, python: str = 'echo "1 passed in 0.01s"'):
        (tmp_path / ".ci").mkdir()
        shutil.copy(PROJECT / ".ci" / "run", tmp_path / ".ci" / "run")
        (tmp_path / "README.md").write_text(readme)
        stand_ins = tmp_path / "bin"
        stand_ins.mkdir()
        for name, body in (("python3", python), ("chromium", "exit 0")):
            (stand_ins / name).write_text(f"#!/bin/sh\n{body}\n")
            (stand_ins / name).chmod(0o755)
        path = f"{stand_ins}{os.pathsep}{os.environ['PATH']}"
        return subprocess.run(
            [tmp_path / ".ci" / "run"], capture_output=True, text=True, env={**os.environ, "PATH": path}, timeout=60
        )

    return call


def test_the_script_can_be_run_and_the_readme_holds_its_command_once():
    assert (PROJECT / ".ci" / "run").stat().st_mode & stat.S_IXUSR
    assert (PROJECT / "README.md").read_text(encoding="utf-8").splitlines().count(TEST_COMMAND) == 1


def test_it_runs_the_command_of_the_readme_and_shows_the_closing_line(run_ci):
    said = run_ci("# x\n\n```sh\npython3 -m venv .venv && true pytest\n```\n")
    assert said.returncode == 0, said.stderr
    assert said.stdout.splitlines()[-1] == "1 passed in 0.01s"


@pytest.mark.parametrize(("python", "rest"), [("exit 5", "true pytest"), ("exit 0", "sh -c 'exit 5' pytest")])
def test_the_exit_code_of_whatever_failed_comes_through(run_ci, python, rest):
    assert run_ci(f"```sh\npython3 -m venv .venv && {rest}\n```\n", python=python).returncode == 5


def test_a_readme_without_the_command_is_said(run_ci):
    said = run_ci("# nothing here\n")
    assert said.returncode != 0
    assert "README.md does not hold the test command" in said.stderr
