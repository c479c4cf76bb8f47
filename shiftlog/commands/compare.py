"""`shiftlog compare`: drives before against drives after."""

import argparse
from collections.abc import Sequence
from pathlib import Path

from shiftlog.commands.measure import measure_folder
from shiftlog.commands.terminal import write_json
from shiftlog.compare.document import comparison_to_document
from shiftlog.compare.drives import compare_drives
from shiftlog.compare.words import say_row
from shiftlog.measure.catalogue import MEASURES
from shiftlog.model.comparison import Comparison
from shiftlog.model.result import DriveResult
from shiftlog.store.document import read_document


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of the command."""
    what = "drive folders, or files that `shiftlog measure --json` wrote"
    parser.add_argument("--before", nargs="+", type=Path, required=True, metavar="DRIVE", help=what)
    parser.add_argument("--after", nargs="+", type=Path, required=True, metavar="DRIVE", help=what)
    parser.add_argument("--json", metavar="FILE", help="write the comparison there; - for standard output")


def run(args: argparse.Namespace) -> int:
    """Compare and print or write the rows."""
    comparison = compare_drives(_read(args.before), _read(args.after))
    if args.json:
        write_json(comparison_to_document(comparison), args.json)
    if args.json != "-":
        print("\n".join(_lines(comparison)))
    return 0


def _read(paths: Sequence[Path]) -> list[DriveResult]:
    return [read_document(p) if p.is_file() and p.suffix == ".json" else measure_folder(p) for p in paths]


def _lines(comparison: Comparison) -> list[str]:
    lines = [f"Before: {', '.join(comparison.before)}. After: {', '.join(comparison.after)}."]
    lines += [f"Mind: {caveat}." for caveat in comparison.caveats]
    for row in comparison.rows:
        indent = "" if row.group == "all" else "  "
        lines.append(indent + say_row(row, MEASURES[row.measure].label))
    if len(lines) == 1:
        lines.append("These drives share nothing that can be compared.")
    return lines
