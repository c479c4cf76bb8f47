"""The floors stand: imports go down only, rooms keep their doors shut, nothing imports in a circle."""

import ast
from pathlib import Path

import pytest

from .conftest import PROJECT, SOURCES, imports_of, module_name, tree_of

FLOORS = (
    ("errors", "units"),
    ("model",),
    ("signal",),
    ("ingest", "align", "detect", "measure", "synth"),
    ("compare", "cables", "neutral", "guided", "findings", "report", "store"),
    ("pipeline",),
    ("commands", "cli", "__main__"),
)
CLOSED = FLOORS[3]
HEAVY = ("numpy", "scipy", "pandas")
LOADERS = {"cli.py", "optional.py"}
"""The command table, and the one loader of optional extras."""
DOORS = {"dashboard/library.py", "dashboard/setups.py", "dashboard/__main__.py"}
BEHIND_THE_DOOR = ("shiftlog.store", "shiftlog.pipeline", "shiftlog.compare")

in_shiftlog = [p for p in SOURCES if module_name(p).startswith("shiftlog.")]


def room_of(name: str) -> str | None:
    """The room of a shiftlog module: ``shiftlog.detect.gates`` → ``detect``; None for the bare package or others."""
    parts = name.split(".")
    return parts[1] if parts[0] == "shiftlog" and len(parts) > 1 else None


def floor_of(room: str) -> int:
    found = [i for i, floor in enumerate(FLOORS) if room in floor]
    assert found, f"shiftlog/{room} stands on no floor; give it one in this test"
    return found[0]


def is_within(name: str, package: str) -> bool:
    return name == package or name.startswith(f"{package}.")


@pytest.mark.parametrize("path", in_shiftlog, ids=module_name)
def test_imports_go_down_only(path):
    mine = room_of(module_name(path))
    for name in imports_of(path):
        assert not is_within(name, "dashboard"), f"{path.name} imports {name}"
        theirs = room_of(name)
        if theirs is None or theirs == mine:
            continue
        assert floor_of(theirs) <= floor_of(mine), f"{path.name} imports upwards: {name}"
        assert not (mine in CLOSED and theirs in CLOSED), f"{path.name} opens a door between rooms: {name}"


@pytest.mark.parametrize("path", [p for p in in_shiftlog if room_of(module_name(p)) == "signal"], ids=module_name)
def test_signal_knows_bare_arrays_only(path):
    for name in imports_of(path):
        assert not is_within(name, "shiftlog") or is_within(name, "shiftlog.signal"), f"{path.name} imports {name}"


def test_the_ground_floor_stands_on_nothing():
    for path in (PROJECT / "shiftlog" / "errors.py", PROJECT / "shiftlog" / "units.py"):
        assert not [name for name in imports_of(path) if is_within(name, "shiftlog")]


def test_the_dashboard_has_one_door_to_store_pipeline_and_comparison():
    through = {
        path.relative_to(PROJECT).as_posix()
        for path in SOURCES
        for name in imports_of(path)
        if is_within(module_name(path), "dashboard") and any(is_within(name, room) for room in BEHIND_THE_DOOR)
    }
    assert through <= DOORS


def test_no_import_cycle():
    graph = {module_name(p): imports_of(p) for p in SOURCES}
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
def test_no_import_inside_a_function(path):
    for node in ast.walk(tree_of(path)):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            inner = [n for n in ast.walk(node) if isinstance(n, ast.Import | ast.ImportFrom)]
            assert not inner, f"{path.name}:{node.name} imports inside a function"


def test_modules_are_loaded_by_name_in_two_places_only():
    loaders = {path.name for path in SOURCES if loads_by_name(path)}
    assert loaders == LOADERS


def loads_by_name(path: Path) -> bool:
    called = {n.attr if isinstance(n, ast.Attribute) else getattr(n, "id", "") for n in ast.walk(tree_of(path))}
    return bool(called & {"import_module", "__import__", "spec_from_file_location", "run_module", "exec", "eval"})


def test_what_help_loads_is_light():
    """Everything that `shiftlog --help` imports, followed through the sources, is free of heavy libraries."""
    paths = {module_name(p): p for p in SOURCES}
    waiting, seen = ["shiftlog.cli", "shiftlog.commands", "shiftlog"], set()
    while waiting:
        name = waiting.pop()
        if name in paths and name not in seen:
            seen.add(name)
            waiting += imports_of(paths[name])
            heavy = [n for n in imports_of(paths[name]) if any(is_within(n, h) for h in HEAVY)]
            assert not heavy, f"{name} loads {heavy} for --help"
    assert "shiftlog.errors" in seen
