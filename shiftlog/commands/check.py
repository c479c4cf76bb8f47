"""`shiftlog check`: what each log of a drive is worth, what it all can measure, and what to fit to measure more."""

import argparse
import textwrap
from pathlib import Path

from shiftlog.commands.progress import show_progress
from shiftlog.commands.several import for_each_drive
from shiftlog.commands.terminal import WIDTH, say_left_out, write_json
from shiftlog.detect.gate_beside import say_lever_worth
from shiftlog.measure.capability import Able, DriveWorth, judge_drive
from shiftlog.measure.worth import Fact, able_text, find_remedies, recording_facts
from shiftlog.model.drive import Drive
from shiftlog.model.result import RecordingReport, Unable
from shiftlog.pipeline import load_drive
from shiftlog.store.worth import worth_to_document

LOOK = "!"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of the command."""
    parser.add_argument("drives", nargs="+", type=Path, metavar="DRIVE", help="a drive's folder, or its drive.toml")
    parser.add_argument("--json", metavar="FILE", help="write the same as a document; - for standard output")
    parser.add_argument("--allow-restart", action="store_true", help="accept a log whose time jumps back")


def run(args: argparse.Namespace) -> int:
    """Print what each recording is worth, and what the drive can measure; "nothing" is an answer and no failure."""
    drives, code = for_each_drive(args.drives, lambda path: _load(path, allow_restart=args.allow_restart))
    worths = [judge_drive(drive.placed, car=drive.car) for drive in drives]
    if args.json and drives:
        documents = [worth_to_document(drive, worth) for drive, worth in zip(drives, worths, strict=True)]
        write_json(documents[0] if len(args.drives) == 1 else documents, args.json)
    if args.json != "-":
        for drive, worth in zip(drives, worths, strict=True):
            print("\n".join(_lines(drive, worth)), end="\n\n" if len(drives) > 1 else "\n")
    return code


def _load(path: Path, *, allow_restart: bool) -> Drive:
    with show_progress() as progress:
        drive = load_drive(path, allow_restart=allow_restart, progress=progress)
    # What is not placed is told with its recording.
    say_left_out(drive, unplaced=False)
    return drive


def _lines(drive: Drive, worth: DriveWorth) -> list[str]:
    n = len(drive.placed)
    lines = [f"{drive.head.id}, {drive.car.name}: {n} recording{'' if n == 1 else 's'}"]
    for placed, report in zip(drive.placed, worth.reports, strict=True):
        channels = ", ".join(c.name for c in placed.recording.channels)
        lines += ["", *_recording_lines(report, channels, _lever_facts(drive, report.name))]
    return lines + _can_lines(worth.can) + _cannot_lines(worth.cannot)


def _lever_facts(drive: Drive, name: str) -> tuple[Fact, ...]:
    """Of the motion sensor that rides on the lever: how many mm the lever's position is good for."""
    lever = drive.signals.lever
    if lever is None or lever.recording != name:
        return ()
    worth = say_lever_worth(drive.signals, drive.car, drive.tests)
    return (Fact(label="worth", text=worth),) if worth else ()


def _recording_lines(report: RecordingReport, channels: str, more: tuple[Fact, ...]) -> list[str]:
    facts = (Fact(label="channels", text=channels or "none"), *recording_facts(report), *more)
    wide = max(len(fact.label) for fact in facts)
    lines = [f"{report.name} ({report.file}, at the {report.place})"]
    for fact in facts:
        lines += _wrapped(fact.text, head=f"{LOOK if fact.look else ' '} {fact.label.ljust(wide)}  ")
    return lines


def _can_lines(can: tuple[Able, ...]) -> list[str]:
    if not can:
        return ["", "Nothing can be measured from this drive."]
    wide = max(len(able.name) for able in can)
    lines = ["", "This drive can measure"]
    for able in can:
        lines += _wrapped(able_text(able), head=f"{LOOK if able.doubt else ' '} {able.name.ljust(wide)}  ")
    return lines


def _cannot_lines(cannot: tuple[Unable, ...]) -> list[str]:
    if not cannot:
        return []
    lines = ["", "It cannot measure"]
    for remedy in find_remedies(cannot):
        for names, why in remedy.reasons:
            lines += _wrapped(f"{', '.join(names)}: {why}", head="  ", hang="    ")
        lines += _wrapped(remedy.mend, head="    → ", hang="      ") if remedy.mend else []
    return lines


def _wrapped(text: str, *, head: str, hang: str | None = None) -> list[str]:
    """A text after its head, further lines under its beginning."""
    return textwrap.wrap(
        text, WIDTH, initial_indent=head, subsequent_indent=" " * len(head) if hang is None else hang,
        break_long_words=False, break_on_hyphens=False,
    )  # fmt: skip
