"""The project's own sources as syntax trees, and what each module imports."""

import ast
import subprocess
from functools import cache
from pathlib import Path

import pytest

PROJECT = Path(__file__).resolve().parents[2]
SOURCES = sorted(
    path for room in ("shiftlog", "dashboard", "drives_demo") for path in (PROJECT / room).glob("**/*.py")
)  # fmt: skip


def module_name(path: Path) -> str:
    """``shiftlog/detect/gates.py`` → ``shiftlog.detect.gates``."""
    parts = path.relative_to(PROJECT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


MODULES = {module_name(path) for path in SOURCES}


@cache
def tree_of(path: Path) -> ast.Module:
    """The file's syntax tree."""
    return ast.parse(path.read_text(encoding="utf-8"))


@cache
def imports_of(path: Path) -> frozenset[str]:
    """Every module a file imports, wherever in it; ``from package import module`` counts as that module."""
    names = set()
    for node in ast.walk(tree_of(path)):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            base = _base(path, node)
            inner = {f"{base}.{alias.name}" for alias in node.names}
            names |= (inner & MODULES) or {base}
    return frozenset(names)


def _base(path: Path, node: ast.ImportFrom) -> str:
    """The module named after ``from``, the dots of a relative import resolved."""
    if not node.level:
        return node.module or ""
    package = module_name(path).split(".")
    if path.name != "__init__.py":
        package = package[:-1]
    package = package[: len(package) - node.level + 1]
    return ".".join([*package, *([node.module] if node.module else [])])


@pytest.fixture(scope="session")
def committed() -> list[str]:
    """Paths of all committed files."""
    listed = subprocess.run(["git", "ls-files"], cwd=PROJECT, capture_output=True, text=True)
    if listed.returncode:
        pytest.skip("not a git checkout: what is committed cannot be listed")
    return listed.stdout.splitlines()
