"""`shiftlog verify`: measure the logs of a page anew, and say whether its figures are the same."""

import argparse
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from shiftlog import __version__
from shiftlog.commands.exit_codes import UNUSABLE, USABLE, one_line
from shiftlog.commands.progress import show_progress
from shiftlog.commands.terminal import write_json
from shiftlog.commands.workshop_drives import measure_kept, read_settings
from shiftlog.errors import ShiftlogError, StoreError
from shiftlog.model.job import JobVersion
from shiftlog.model.result import DriveResult
from shiftlog.report.page_words import LOOK, OtherWords, show_words
from shiftlog.report.provenance import HISTORY, PARTS, ReadPage, read_page
from shiftlog.report.verify import (
    GONE,
    UNCHANGED,
    DriveState,
    Verification,
    compare_with,
    count_carried,
    find_by_name,
    hold_words,
    make_anew,
    state_of_drive,
)  # fmt: skip
from shiftlog.store.jobs import Jobs
from shiftlog.store.workshop import Workshop

MOST_TOLD = 12


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of the command."""
    parser.add_argument("page", type=Path, metavar="PAGE", help="a page that `shiftlog report` wrote")
    parser.add_argument("--workshop", type=Path, metavar="DIR", help="the workshop its drives lie in (./workshop)")
    parser.add_argument("--drive", nargs="+", type=Path, default=[], metavar="DRIVE", help="or the drives' folders")
    parser.add_argument("--json", metavar="FILE", help="write the outcome there; - for standard output")


def run(args: argparse.Namespace) -> int:
    """Verify and say so; 0 where everything is the same, else 2."""
    workshop = _workshop(args)
    page = read_page(args.page)
    with show_progress() as progress:
        verification = verify_page(page, workshop, args.drive, progress)
    if args.json:
        write_json(_plain(verification), args.json)
    if args.json != "-":
        print("\n".join(verification_lines(verification, args.page.name)))
    return USABLE if verification.same else UNUSABLE


def _workshop(args: argparse.Namespace) -> Workshop | None:
    if args.workshop is not None:
        return Workshop.open(args.workshop, create=False)
    usual = Path("workshop")
    return Workshop.open(usual, create=False) if (usual / "workshop.sqlite").is_file() else None


def verify_page(page: ReadPage, workshop: Workshop | None, folders: Sequence[Path], progress) -> Verification:
    """Look at every log, measure every drive whose logs are unchanged, and hold figures and words against the page's.

    Repeat drives are measured only where all others can be: what a drive says by itself does not lean on them.
    """
    document, why = page.document, []
    named = [(f"{side} {n}", drive) for side in PARTS for n, drive in enumerate(document["drives"][side], start=1)]
    drives = [state_of_drive(place, drive, _folder(drive, workshop, folders)) for place, drive in named]
    complete = all(state.unchanged for state in drives)
    results = {}
    for (place, drive), state in zip(named, drives, strict=True):
        if state.unchanged and (complete or not place.startswith(HISTORY)):
            try:
                results[place] = _anew(state, drive, workshop, progress)
            except ShiftlogError as error:
                why.append(f"{place}, {state.name}: cannot be measured any more: {one_line(error)}")
    if not named:
        why.append("the page names no drive, so that nothing in it can be measured anew")
    jobs, version = _record(document, workshop, why)
    checked, different, words = 0, [], None
    try:
        anew = make_anew(document, results, version)
        checked, different = compare_with(document, anew)
        if anew is None or not anew.whole:
            why.append("the words of the page cannot be held, as not all of its drives can be measured anew")
        elif version is not None or document["job"] is None:
            words = hold_words(page, anew, jobs.small_photo if jobs else lambda _: None)
    except ShiftlogError as error:
        why.append(f"the page cannot be made again: {one_line(error)}")
    return Verification(
        whole=page.whole, made_by=document["shiftlog"], drives=tuple(drives), checked=checked,
        carried=count_carried(document), different=tuple(different), words=words, why=tuple(why),
    )  # fmt: skip


def _record(
    document: Mapping[str, Any], workshop: Workshop | None, why: list[str]
) -> tuple[Jobs | None, JobVersion | None]:
    """The job's record as it was when the page was made; a line where it is not at hand, or was tampered with."""
    job = document["job"]
    if job is None:
        return None, None
    named = f"job {job['id']}, version {job['version']}"
    if workshop is None:
        why.append(f"{named}: its record is not at hand, so that no word of the page can be held; give --workshop DIR")
        return None, None
    jobs = Jobs(workshop)
    try:
        version = jobs.job(job["id"], job["version"])
    except StoreError as error:
        why.append(f"the words of the page cannot be held: {one_line(error)}")
        return jobs, None
    if not version.sealed:
        why.append(f"{named}: was changed by something other than shiftlog")
    return jobs, version


def _folder(drive: Mapping[str, Any], workshop: Workshop | None, folders: Sequence[Path]) -> Path | None:
    """Where a drive lies: in the workshop by its id, else among the folders given."""
    if workshop is not None and drive.get("id"):
        try:
            return workshop.drive_folder(drive["id"])
        except StoreError:
            pass
    kept = [entry.folder for entry in workshop.drives()] if workshop is not None else []
    return find_by_name(drive, [*folders, *kept])


def _anew(state: DriveState, drive: Mapping[str, Any], workshop: Workshop | None, progress) -> DriveResult:
    settings = read_settings(drive["settings"])
    return measure_kept(state.folder, workshop, settings=settings, progress=progress, logs=len(state.logs))


def verification_lines(verification: Verification, page: str) -> list[str]:
    """What is printed: what is wrong first, then what is the same."""
    lines = [] if verification.whole else [f"{page}: was changed after it was made"]
    if verification.made_by != __version__:
        lines.append(
            f"made by shiftlog {verification.made_by}, measured anew by {__version__}: figures and words may differ"
        )
    for drive in verification.drives:
        lines += _drive_lines(drive)
    lines += list(verification.why)
    told = verification.different[:MOST_TOLD]
    lines += [f"differs: {d.figure}: {_short(d.then)} in the page, {_short(d.now)} now" for d in told]
    more = len(verification.different) - len(told)
    lines += [f"and {more} more that differ"] if more else []
    return [*lines, *_word_lines(verification.words or ()), _verdict(verification)]


def _word_lines(words: Sequence[OtherWords]) -> list[str]:
    """Each line of the page that its figures and the job's record do not bear out."""
    if [one.there for one in words] == [LOOK]:
        return [f"{LOOK} are not those that its figures and the record give"]
    lines = []
    for one in words[:MOST_TOLD]:
        there, right = show_words(one)
        told = f"the page says “{there}”" if there else "the page leaves out a line"
        lines.append(
            f"{told}, it should be “{right}”" if right else f"{told}, which nothing measured or recorded gives"
        )
    more = len(words) - MOST_TOLD
    return [*lines, *([f"and {more} more lines that differ"] if more > 0 else [])]


def _verdict(verification: Verification) -> str:
    same = verification.checked - len(verification.different)
    if verification.same:
        return f"All {verification.carried} figures are the same, and so is every word of the page."
    if verification.checked == verification.carried and not verification.different:
        words = "could not be held" if verification.words is None else "are not those that they give"
        if verification.words != ():
            return f"All {verification.carried} figures are the same, but the words of the page {words}."
    if not verification.checked:
        return f"None of {verification.carried} figures could be measured anew."
    hint = "; have the car's profile or the drive's marks been changed since?" if verification.different else ""
    return (
        f"{max(same, 0)} of {verification.carried} figures are the same, {verification.checked} could be measured{hint}"
    )


def _drive_lines(drive: DriveState) -> list[str]:
    if drive.folder is None or all(log.state == GONE for log in drive.logs):
        gone = "its logs are gone; the page stands, its figures cannot be measured anew"
        return [f"{drive.place}, {drive.name}: {gone}"]
    other = [log for log in drive.logs if log.state != UNCHANGED]
    return [f"{drive.place}, {drive.name}: {log.file} {_STATES[log.state]}" for log in other]


_STATES = {"gone": "is gone", "changed": "was changed since (SHA-256)"}


def _short(value: object) -> str:
    if value is None:
        return "nothing"
    text = f"{value:.6g}" if isinstance(value, float) else str(value)
    return text if len(text) <= 40 else text[:39] + "…"


def _plain(verification: Verification) -> dict[str, Any]:
    drives = [
        {"place": d.place, "name": d.name, "logs": [{"file": log.file, "state": log.state} for log in d.logs]}
        for d in verification.drives
    ]  # fmt: skip
    words = verification.words
    different = [{"figure": d.figure, "then": d.then, "now": d.now} for d in verification.different]
    return {
        "format": 1, "same": verification.same, "page_unchanged": verification.whole, "made_by": verification.made_by,
        "checked": verification.checked, "carried": verification.carried, "drives": drives, "different": different,
        "words": None if words is None else [{"there": one.there, "right": one.right} for one in words],
        "why": list(verification.why),
    }  # fmt: skip
