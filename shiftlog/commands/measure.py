"""`shiftlog measure`: every shift and rest of a drive, for people or as JSON."""

import argparse
from dataclasses import asdict, replace
from pathlib import Path

from shiftlog.commands.progress import show_progress
from shiftlog.commands.several import for_each_drive
from shiftlog.commands.summary import drive_lines
from shiftlog.commands.terminal import say, say_left_out, say_of, write_json
from shiftlog.commands.workshop_drives import kept_car
from shiftlog.model.drive import Drive
from shiftlog.model.result import DriveResult
from shiftlog.pipeline import load_drive, measure_drive
from shiftlog.store.document import result_to_document
from shiftlog.store.workshop import Workshop


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of the command."""
    parser.add_argument("drives", nargs="+", type=Path, metavar="DRIVE", help="a drive's folder, or its drive.toml")
    parser.add_argument("--json", metavar="FILE", help="write the result document there; - for standard output")
    parser.add_argument("--workshop", type=Path, metavar="DIR", help="keep drive and result in this workshop folder")
    parser.add_argument("--allow-restart", action="store_true", help="accept a log whose time jumps back")


def run(args: argparse.Namespace) -> int:
    """Measure the drives and print or write what was found."""
    results, code = for_each_drive(
        args.drives, lambda path: measure_folder(path, allow_restart=args.allow_restart, workshop=args.workshop)
    )
    if args.json and results:
        documents = [result_to_document(result) for result in results]
        # The shape follows what was asked for, not what was usable: a script can rely on it.
        write_json(documents[0] if len(args.drives) == 1 else documents, args.json)
    if args.json != "-":
        for result in results:
            print("\n".join(drive_lines(result)), end="\n\n" if len(results) > 1 else "\n")
    return code


def measure_folder(path: Path, *, allow_restart: bool = False, workshop: Path | None = None) -> DriveResult:
    """Load and measure one drive folder, with progress and one line for each recording left out.

    In a workshop with the profile it has of the car, so that its pages and the result speak of one car.
    """
    with show_progress() as progress:
        drive = load_drive(path, allow_restart=allow_restart, progress=progress)
    say_left_out(drive)
    home = None if workshop is None else Workshop.open(workshop)
    drive_id = "" if home is None else home.add_drive(path)
    if home is not None:
        drive = _with_kept_profile(drive, home, drive_id)
    with show_progress() as progress:
        result = measure_drive(drive, progress=progress)
    say_of(drive, result.notes[len(drive.notes) :])
    if home is not None:
        home.save_result(drive_id, result)
    return result


def _with_kept_profile(drive: Drive, workshop: Workshop, drive_id: str) -> Drive:
    car = kept_car(workshop, workshop.drive_folder(drive_id), drive.car)
    if asdict(car) != asdict(drive.car):
        say(
            f"{drive.car.name}: the workshop has another profile of this car than the one beside {drive.head.id}, "
            "which was measured with the workshop's; change that one on the car's page"
        )
    return replace(drive, car=car)
