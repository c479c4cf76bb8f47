"""Nothing is long, nothing stray is committed, and the README keeps up with the commands."""

import ast
import re

import pytest

from shiftlog.cli import COMMANDS

from .conftest import PROJECT, SOURCES, module_name, tree_of

TOP_LEVEL = {
    "README.md", "DEVELOPERS.md", "pyproject.toml", "shiftlog", "dashboard", "tests", "drives_demo", "firmware_notes",
}  # fmt: skip
LONGEST_MODULE, LONGEST_FUNCTION, LARGEST_BYTES = 299, 60, 2_000_000
TEXT = (".py", ".md", ".toml", ".js", ".css", ".sql", ".html", ".svg", "")

# Joined here, so that this file does not hold what it looks for (a formatter would join plain pieces).
REGISTRY_HOSTS = [
    ".".join(parts)
    for parts in (("pypi", "org"), ("pythonhosted", "org"), ("npmjs", "org"), ("debian", "org"), ("crates", "io"))
]
MACHINE_PATHS = ["/" + rest for rest in ("work/", "root/", r"home/\w", r"Users/\w", "opt/wheels")]


@pytest.mark.parametrize("path", SOURCES, ids=module_name)
def test_nothing_is_long(path):
    lines = len(path.read_text(encoding="utf-8").splitlines())
    assert lines <= LONGEST_MODULE, f"{path.name} has {lines} lines"
    for node in ast.walk(tree_of(path)):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            length = node.end_lineno - node.lineno + 1
            assert length <= LONGEST_FUNCTION, f"{path.name}:{node.name} has {length} lines"


def test_nothing_stray_at_the_top_level(committed):
    tops = {name.split("/")[0] for name in committed}
    assert {top for top in tops if not top.startswith(".")} <= TOP_LEVEL


def test_no_large_file_is_committed(committed):
    large = [n for n in committed if (PROJECT / n).is_file() and (PROJECT / n).stat().st_size >= LARGEST_BYTES]
    assert not large


def test_no_registry_and_no_path_of_one_machine_is_named(committed):
    forbidden = re.compile("|".join([*(re.escape(host) for host in REGISTRY_HOSTS), *MACHINE_PATHS]))
    for name in committed:
        path = PROJECT / name
        if path.is_file() and path.suffix in TEXT:
            found = forbidden.search(path.read_text(encoding="utf-8"))
            assert not found, f"{name} names {found[0]}"


def test_the_readme_names_every_command_and_opens_with_the_job():
    readme = (PROJECT / "README.md").read_text(encoding="utf-8")
    for command in COMMANDS:
        assert f"`shiftlog {command}`" in readme
    assert readme.split("\n\n")[1].startswith("A technician")
