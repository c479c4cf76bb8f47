"""`shiftlog compare`: drives before against drives after, or what repeat drives can show."""

import argparse
import json
from collections.abc import Sequence
from pathlib import Path

from shiftlog.commands.compare_text import comparison_lines, setup_lines
from shiftlog.commands.measure import measure_folder
from shiftlog.commands.progress import show_progress
from shiftlog.commands.terminal import write_json
from shiftlog.commands.workshop_drives import limits_beside
from shiftlog.compare.document import comparison_to_document, setup_to_document
from shiftlog.compare.drives import MARGIN_SUFFIX, compare_drives
from shiftlog.compare.repeatability import measure_setup
from shiftlog.errors import CompareError, StoreError
from shiftlog.measure.catalogue import MEASURES
from shiftlog.model.result import DriveResult
from shiftlog.store.document import document_to_result, read_document
from shiftlog.store.workshop import Workshop


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of the command."""
    what = "drive folders, or files that `shiftlog measure --json` wrote"
    parser.add_argument("--before", nargs="+", type=Path, metavar="DRIVE", help=what)
    parser.add_argument("--after", nargs="+", type=Path, metavar="DRIVE", help=what)
    parser.add_argument(
        "--repeat", nargs="+", type=Path, metavar="DRIVE",
        help="drives with nothing changed between those of one stage and driver: says what this setup can show",
    )  # fmt: skip
    parser.add_argument(
        "--history", nargs="+", type=Path, default=[], metavar="DRIVE",
        help="repeat drives that tell how much drives differ with nothing changed",
    )  # fmt: skip
    parser.add_argument("--workshop", type=Path, metavar="DIR", help="take the repeat drives of this workshop as well")
    parser.add_argument(
        "--margin", nargs="+", type=_margin, default=[], metavar="FIGURE=SIZE",
        help="a smaller difference does not matter, as shift_time_s=0.03; else as in car.toml and the catalogue",
    )  # fmt: skip
    parser.add_argument(
        "--cold", action="store_true",
        help="the complaint comes with a cold gearbox: cold stretches alone count, and warm drives answer nothing",
    )  # fmt: skip
    parser.add_argument("--json", metavar="FILE", help="write the comparison there; - for standard output")


def run(args: argparse.Namespace) -> int:
    """Compare, or say what repeat drives are worth, and print or write the rows."""
    if args.repeat:
        return _run_repeat(args)
    if not (args.before and args.after):
        raise CompareError(
            "give --before DRIVE… and --after DRIVE…, or --repeat DRIVE… alone; see shiftlog compare --help"
        )
    before, after, history = read_results(args.before), read_results(args.after), read_results(args.history)
    with show_progress() as progress:
        progress("comparing")
        comparison = compare_drives(
            before, after, history=[*history, *_kept(args.workshop)], limits=_limits(args.after, args.margin),
            cold_complaint=args.cold,
        )  # fmt: skip
    return _give(args.json, comparison_to_document(comparison), comparison_lines(comparison))


def _run_repeat(args: argparse.Namespace) -> int:
    if args.before or args.after or args.history or args.margin or args.workshop or args.cold:
        raise CompareError("--repeat stands alone; compare, with history, workshop and margins, in a second call")
    worth = measure_setup(read_results(args.repeat), limits=_limits(args.repeat, ()))
    return _give(args.json, setup_to_document(worth), setup_lines(worth))


def _give(target: str | None, document: dict[str, object], lines: Sequence[str]) -> int:
    if target:
        write_json(document, target)
    if target != "-":
        print("\n".join(lines))
    return 0


def _margin(text: str) -> tuple[str, float]:
    key, _, size = text.partition("=")
    if key not in MEASURES:
        raise argparse.ArgumentTypeError(f"{key!r} is no figure; `shiftlog measures` lists them")
    try:
        value = float(size)
    except ValueError:
        value = 0.0
    if not 0 < value < float("inf"):
        raise argparse.ArgumentTypeError(f"{text!r}: a margin is a positive number, as shift_time_s=0.03")
    return key, value


def _limits(after: Sequence[Path], margins: Sequence[tuple[str, float]]) -> dict[str, object]:
    """``[limits]`` of the first profile beside the drives after, and the margins given here over it."""
    return limits_beside(after) | {key + MARGIN_SUFFIX: value for key, value in margins}


def _kept(folder: Path | None) -> list[DriveResult]:
    """Everything measured that a workshop keeps."""
    if folder is None:
        return []
    workshop = Workshop.open(folder, create=False)
    found = [workshop.result(entry.id) for entry in workshop.drives() if entry.measured]
    return [result for result in found if result is not None]


def read_results(paths: Sequence[Path]) -> list[DriveResult]:
    """The drives of all arguments, in their order."""
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
