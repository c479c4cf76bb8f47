"""`shiftlog compare`: drives before against drives after."""

import argparse
import json
from collections.abc import Sequence
from pathlib import Path

from shiftlog.commands.measure import measure_folder
from shiftlog.commands.progress import show_progress
from shiftlog.commands.terminal import write_json
from shiftlog.compare.document import comparison_to_document
from shiftlog.compare.drives import compare_drives
from shiftlog.compare.words import say_row
from shiftlog.errors import StoreError
from shiftlog.measure.catalogue import MEASURES
from shiftlog.model.comparison import Comparison
from shiftlog.model.result import DriveResult
from shiftlog.store.document import document_to_result, read_document


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of the command."""
    what = "drive folders, or files that `shiftlog measure --json` wrote"
    parser.add_argument("--before", nargs="+", type=Path, required=True, metavar="DRIVE", help=what)
    parser.add_argument("--after", nargs="+", type=Path, required=True, metavar="DRIVE", help=what)
    parser.add_argument("--json", metavar="FILE", help="write the comparison there; - for standard output")


def run(args: argparse.Namespace) -> int:
    """Compare and print or write the rows."""
    before, after = _read(args.before), _read(args.after)
    with show_progress() as progress:
        progress("comparing")
        comparison = compare_drives(before, after)
    if args.json:
        write_json(comparison_to_document(comparison), args.json)
    if args.json != "-":
        print("\n".join(_lines(comparison)))
    return 0


def _read(paths: Sequence[Path]) -> list[DriveResult]:
    return [result for path in paths for result in _read_one(path)]


def _read_one(path: Path) -> list[DriveResult]:
    """The drives of one argument: a folder or its ``drive.toml`` is measured, any other file is a result or a list."""
    if not path.is_file() or path.suffix == ".toml":
        return [measure_folder(path)]
    documents = _listed(path)
    if documents is None:
        return [read_document(path)]
    results = []
    for number, document in enumerate(documents, start=1):
        try:
            results.append(document_to_result(document))
        except StoreError as error:
            raise StoreError(f"{path}, drive {number} of the list: {error}") from error
    return results


def _listed(path: Path) -> list[object] | None:
    """The documents that measuring several drives wrote into one file; None where it is no list of them."""
    try:
        plain = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    return plain if isinstance(plain, list) and plain else None


def _lines(comparison: Comparison) -> list[str]:
    lines = [f"Before: {', '.join(comparison.before)}. After: {', '.join(comparison.after)}."]
    lines += [f"Mind: {caveat}." for caveat in comparison.caveats]
    for row in comparison.rows:
        if row.group == "all":
            lines.append(say_row(row, MEASURES[row.measure].label))
            kinds = [r for r in comparison.rows if r.measure == row.measure and r.group != "all"]
            lines += [f"  {say_row(r, MEASURES[r.measure].label)}" for r in kinds if r.verdict != "too_few"]
            few = [r.group for r in kinds if r.verdict == "too_few"]
            lines += [f"  too few shifts to tell: {', '.join(few)}"] if few else []
    if not comparison.rows:
        lines.append("These drives share nothing that can be compared.")
    return lines
