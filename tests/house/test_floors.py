"""The house stands: imports go down only, rooms keep their doors shut, nothing is long, nothing stray is committed."""

import ast
import re
import subprocess
from pathlib import Path

import pytest

from shiftlog.cli import COMMANDS

PROJECT = Path(__file__).resolve().parents[2]
SOURCES = sorted([*PROJECT.glob("shiftlog/**/*.py"), *PROJECT.glob("dashboard/**/*.py")])
FLOORS = (
    ("errors", "units"),
    ("model",),
    ("signal",),
    ("ingest", "align", "detect", "measure", "synth"),
    ("compare", "cables", "guided", "findings", "report", "store"),
    ("pipeline",),
    ("commands", "cli", "__main__"),
)
CLOSED = FLOORS[3]
TOP_LEVEL = {
    "README.md", "DEVELOPERS.md", "pyproject.toml", "shiftlog", "dashboard", "tests", "drives_demo", "firmware_notes",
}  # fmt: skip
LONGEST_MODULE, LONGEST_FUNCTION = 300, 60


def module_name(path: Path) -> str:
    parts = path.relative_to(PROJECT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def tree_of(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


def imports_of(tree: ast.AST) -> list[str]:
    names = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            names += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.module:
            names += [node.module]
    return names


def room_of(name: str) -> str | None:
    """The room of a shiftlog module: ``shiftlog.detect.gates`` → ``detect``; None for the bare package or others."""
    parts = name.split(".")
    return parts[1] if parts[0] == "shiftlog" and len(parts) > 1 else None


def floor_of(room: str) -> int:
    return next(i for i, floor in enumerate(FLOORS) if room in floor)


@pytest.mark.parametrize("path", SOURCES, ids=module_name)
def test_imports_go_down_only(path):
    mine = room_of(module_name(path))
    if mine is None:
        return
    for name in imports_of(tree_of(path)):
        theirs = room_of(name)
        assert not name.startswith("dashboard"), f"{path.name} imports {name}"
        if theirs is None or theirs == mine:
            continue
        assert floor_of(theirs) <= floor_of(mine), f"{path.name} imports upwards: {name}"
        assert not (mine in CLOSED and theirs in CLOSED), f"{path.name} opens a door between rooms: {name}"


def test_the_dashboard_has_one_door_to_store_pipeline_and_comparison():
    doors = set()
    for path in PROJECT.glob("dashboard/**/*.py"):
        for name in imports_of(tree_of(path)):
            if name.startswith(("shiftlog.store", "shiftlog.pipeline", "shiftlog.compare.drives")):
                doors.add(path.relative_to(PROJECT).as_posix())
    assert doors <= {"dashboard/library.py", "dashboard/__main__.py"}


def test_no_import_cycle():
    graph = {module_name(p): {n for n in imports_of(tree_of(p))} for p in SOURCES}
    done: set[str] = set()

    def visit(name: str, above: tuple[str, ...]) -> None:
        assert name not in above, " → ".join([*above, name])
        if name in done or name not in graph:
            return
        for other in graph[name]:
            visit(other, (*above, name))
        done.add(name)

    for name in graph:
        visit(name, ())


@pytest.mark.parametrize("path", SOURCES, ids=module_name)
def test_no_import_inside_a_function_and_nothing_long(path):
    tree = tree_of(path)
    lines = path.read_text(encoding="utf-8").count("\n")
    assert lines <= LONGEST_MODULE, f"{path.name} has {lines} lines"
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            inner = [n for n in ast.walk(node) if isinstance(n, ast.Import | ast.ImportFrom)]
            assert not inner, f"{path.name}:{node.name} imports inside a function"
            length = (node.end_lineno or node.lineno) - node.lineno
            assert length <= LONGEST_FUNCTION, f"{path.name}:{node.name} has {length} lines"


def test_modules_are_loaded_by_name_in_the_command_table_only():
    loaders = [p.name for p in SOURCES if re.search(r"import_module|__import__", p.read_text(encoding="utf-8"))]
    assert loaders == ["cli.py"]


def committed() -> list[str]:
    listed = subprocess.run(["git", "ls-files"], cwd=PROJECT, capture_output=True, text=True)
    if listed.returncode:
        pytest.skip("not a git checkout: what is committed cannot be listed")
    return listed.stdout.split("\n")[:-1]


def test_nothing_stray_at_the_top_level():
    tops = {name.split("/")[0] for name in committed()}
    assert {t for t in tops if not t.startswith(".")} <= TOP_LEVEL


def test_no_address_of_a_registry_and_no_large_file_is_committed():
    registry = re.compile("|".join(("pypi" + r"\.org", "python" + "hosted", "npm" + r"js\.org", "deb" + r"ian\.org")))
    for name in committed():
        path = PROJECT / name
        if not path.is_file():
            continue
        assert path.stat().st_size < 2_000_000, f"{name} is large"
        if path.suffix in (".py", ".md", ".toml", ".js", ".css", ".sql", ""):
            assert not registry.search(path.read_text(encoding="utf-8")), f"{name} names a package registry"


def test_the_readme_names_every_command_and_opens_with_the_job():
    readme = (PROJECT / "README.md").read_text(encoding="utf-8")
    for command in COMMANDS:
        assert f"`shiftlog {command}`" in readme
    assert readme.split("\n\n")[1].startswith("A technician")
