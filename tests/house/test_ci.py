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
    """`.ci/run` of a project that holds a README alone, with stand-ins for python3 and what it installs.

    ``here`` are the programs that are there; what apt-get and id are asked is written to ``asked``.
    """
    if shutil.which("bash") is None:
        pytest.skip("there is no bash on this machine; .ci/run is a bash script")

    def call(readme: str, *, python: str = 'echo "1 passed in 0.01s"', here=("chromium", "cc"), user: int = 0):
        (tmp_path / ".ci").mkdir()
        shutil.copy(PROJECT / ".ci" / "run", tmp_path / ".ci" / "run")
        (tmp_path / "README.md").write_text(readme)
        stand_ins = tmp_path / "bin"
        stand_ins.mkdir()
        told = {"python3": python, "id": f"echo {user}", "apt-get": f'echo "$@" >> {tmp_path}/asked'}
        for name, body in {**told, **dict.fromkeys(here, "exit 0")}.items():
            (stand_ins / name).write_text(f"#!/bin/sh\n{body}\n")
            (stand_ins / name).chmod(0o755)
        for name in ("bash", "sh", "dirname", "grep", "env"):
            (stand_ins / name).exists() or (stand_ins / name).symlink_to(shutil.which(name))
        return subprocess.run(
            [tmp_path / ".ci" / "run"], capture_output=True, text=True, timeout=60,
            env={**os.environ, "PATH": str(stand_ins)},
        )  # fmt: skip

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


@pytest.mark.parametrize(
    ("here", "wanted"),
    [
        (("chromium", "cc"), []),
        (("google-chrome", "clang"), []),
        (("chromium-browser",), ["gcc", "libc6-dev"]),
        (("gcc",), ["chromium"]),
        ((), ["chromium", "gcc", "libc6-dev"]),
    ],
)
def test_what_the_tests_need_is_installed_where_it_is_missing(run_ci, tmp_path, here, wanted):
    said = run_ci("python3 -m venv .venv && true pytest\n", here=here)
    assert said.returncode == 0, said.stderr
    asked = (tmp_path / "asked").read_text().splitlines() if (tmp_path / "asked").exists() else []
    assert [line.split()[1:] for line in asked] == ([["-qq"], ["-y", "-qq", *wanted]] if wanted else [])


def test_without_leave_to_install_it_says_what_is_missing(run_ci, tmp_path):
    said = run_ci("python3 -m venv .venv && true pytest\n", here=("chromium",), user=1000)
    assert said.returncode == 1
    assert said.stderr.strip().endswith("(Debian: apt-get install gcc libc6-dev)")
    assert not (tmp_path / "asked").exists()
