"""Does a page still hold? Its logs by their fingerprints, and every figure against one measured anew."""

import hashlib
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from shiftlog.compare.cold_stretch import keep_cold
from shiftlog.errors import ShiftlogError
from shiftlog.ingest.drive_file import list_files
from shiftlog.model.job import Job, JobVersion
from shiftlog.model.result import DriveResult
from shiftlog.report.content import Content, DriveUsed, make_content
from shiftlog.report.figures import ALONE, RECHECK, SIDES, drive_figures, pooled_figures
from shiftlog.report.job_parts import PhotoOf
from shiftlog.report.masking import DOTS
from shiftlog.report.page import Wishes, make_page
from shiftlog.report.page_words import OtherWords, find_other_words
from shiftlog.report.provenance import HISTORY, PARTS, ReadPage, bare_page

RELATIVE, ABSOLUTE = 1e-4, 1e-9
"""Other machines add up in another order, and a fit that goes step by step ends a little elsewhere for it, by some
millionths. A figure that agrees to four digits is the same one; a page shows three."""
BEFORE, AFTER = SIDES
GONE, CHANGED, UNCHANGED = "gone", "changed", "unchanged"


@dataclass(frozen=True, eq=False, kw_only=True)
class LogState:
    """One log of a page. state : ``unchanged`` | ``changed`` | ``gone``"""

    file: str
    state: str


@dataclass(frozen=True, eq=False, kw_only=True)
class DriveState:
    """One drive of a page. place : ``before 1``; folder : where it lies, or None"""

    place: str
    name: str
    folder: Path | None
    logs: tuple[LogState, ...]

    @property
    def unchanged(self) -> bool:
        """Whether it can be measured anew as it was."""
        return bool(self.logs) and all(log.state == UNCHANGED for log in self.logs)


@dataclass(frozen=True, eq=False, kw_only=True)
class Difference:
    """A figure that came out otherwise. then, now : its values, None where there is none"""

    figure: str
    then: object
    now: object


@dataclass(frozen=True, eq=False, kw_only=True)
class Verification:
    """checked : how many figures were measured anew; carried : how many the page carries

    words : what the page says otherwise than its figures and the job's record, or None where it could not be held
    """

    whole: bool
    made_by: str
    drives: tuple[DriveState, ...]
    checked: int
    carried: int
    different: tuple[Difference, ...]
    words: tuple[OtherWords, ...] | None = None
    why: tuple[str, ...] = ()

    @property
    def same(self) -> bool:
        """The page says what it said, every log is unchanged, every figure and every word comes out again."""
        unchanged = all(drive.unchanged for drive in self.drives)
        measured = bool(self.drives) and 0 < self.checked == self.carried
        return self.whole and unchanged and measured and not self.different and self.words == ()


def state_of_drive(place: str, drive: Mapping[str, Any], folder: Path | None) -> DriveState:
    """Its logs in that folder, by fingerprint; a masked name is no hindrance."""
    marks = _fingerprints(folder)
    logs = []
    for log in drive["inputs"]:
        logs.append(LogState(file=log["file"], state=_state(log, marks)))
    return DriveState(place=place, name=drive["name"], folder=folder, logs=tuple(logs))


def _state(log: Mapping[str, Any], marks: Mapping[str, str]) -> str:
    """Of a log by its name; one that is there under another name is unchanged as well."""
    if log["file"] in marks:
        return UNCHANGED if marks[log["file"]] == log["sha256"] else CHANGED
    return UNCHANGED if log["sha256"] in marks.values() else GONE


def _fingerprints(folder: Path | None) -> dict[str, str]:
    """sha256 of each log, by its name in the drive's folder; nothing where the folder cannot be read."""
    try:
        files = list_files(folder) if folder is not None else None
    except ShiftlogError:
        return {}
    marks = {}
    for path in files.logs if files else ():
        with path.open("rb") as file:
            marks[path.relative_to(files.folder).as_posix()] = hashlib.file_digest(file, "sha256").hexdigest()
    return marks


@dataclass(frozen=True, eq=False, kw_only=True)
class Anew:
    """A page's content, measured anew. whole : from all of its drives; places : of the drives there, by side"""

    content: Content
    whole: bool
    places: Mapping[str, Sequence[str]]


def make_anew(
    document: Mapping[str, Any], results: Mapping[str, DriveResult], version: JobVersion | None = None
) -> Anew | None:
    """The content of a page from results measured anew, by place (``before 1``); None where none is there.

    version : the job's record, where it is at hand; else what of it the page carries
    With drives missing only what each drive says by itself can be held against the page.
    """
    wanted = {side: [f"{side} {n}" for n, _ in enumerate(document["drives"][side], start=1)] for side in PARTS}
    places = {side: [place for place in some if place in results] for side, some in wanted.items()}
    if not (places[BEFORE] or places[AFTER]):
        return None
    whole = places == wanted
    if document["cold_only"] and not whole:
        results = {place: keep_cold(result) or result for place, result in results.items()}
    sides = {side: [_used(document, place, results[place]) for place in some] for side, some in places.items()}
    content = make_content(
        sides[BEFORE], sides[AFTER], version or _job_of(document), recheck=sides[RECHECK], history=sides[HISTORY],
        limits=document["limits"],
    )  # fmt: skip
    return Anew(content=content, whole=whole, places=places)


def compare_with(document: Mapping[str, Any], anew: Anew | None) -> tuple[int, list[Difference]]:
    """How many figures were measured anew, and those that differ."""
    if anew is None:
        return 0, []
    checked, different = _held(document["figures"], pooled_figures(anew.content), "") if anew.whole else (0, [])
    for numbered, now in drive_figures(anew.content).items():
        side, _, number = numbered.partition(" ")
        place = anew.places[side][int(number) - 1]
        then = document["figures_of_drives"].get(place, {})
        if not anew.whole:
            then, now = _alone(then), _alone(now) if then else {}
        n, more = _held(then, now, f"{place}: ")
        checked, different = checked + n, different + more
    return checked, different


def is_to_the_digit(document: Mapping[str, Any], anew: Anew) -> bool:
    """Whether every figure is the page's own to its last digit: then so is every word."""
    return (pooled_figures(anew.content), drive_figures(anew.content)) == (
        document["figures"], document["figures_of_drives"],
    )  # fmt: skip


def hold_words(page: ReadPage, anew: Anew, photo: PhotoOf) -> tuple[OtherWords, ...]:
    """Lines of a page that its figures, measured anew, and the job's record do not give. StoreError."""
    document, content = page.document, anew.content
    wishes = Wishes(
        language=document["language"], speed=document["speed"], show_plate=document["show_plate"],
        made=document["made"], by=document["shiftlog"],
    )  # fmt: skip
    right = bare_page(make_page(content, wishes, photo))
    return find_other_words(page.text, right, exact=is_to_the_digit(document, anew))


def _used(document: Mapping[str, Any], place: str, result: DriveResult) -> DriveUsed:
    """A drive as the page has it: by its name there, as a folder may have been moved, and the version and settings it
    names, as a later program may have more of them."""
    side, _, number = place.partition(" ")
    drive = document["drives"][side][int(number) - 1]
    if DOTS not in drive["name"]:
        result = replace(result, head=replace(result.head, id=drive["name"]))
    return DriveUsed(id=drive.get("id"), result=replace(result, version=drive["shiftlog"], settings=drive["settings"]))


def _job_of(document: Mapping[str, Any]) -> JobVersion | None:
    """As much of the job as the figures depend on."""
    job = document["job"]
    if job is None:
        return None
    plain = Job(
        car=document["car"], shifts=tuple(job["shifts"]), symptoms=tuple(job["symptoms"]),
        temperature=job["temperature"],
    )  # fmt: skip
    return JobVersion(id=job["id"], version=job["version"], saved="", by="", job=plain)


def _alone(figures: Mapping[str, object]) -> dict[str, object]:
    """Figures that no other drive has a say in."""
    return {key: value for key, value in figures.items() if key.startswith(ALONE)}


def _held(then: Mapping[str, object], now: Mapping[str, object], place: str) -> tuple[int, list[Difference]]:
    keys = list(dict.fromkeys([*then, *now]))
    different = [
        Difference(figure=f"{place}{key}", then=then.get(key), now=now.get(key))
        for key in keys
        if not is_same(then.get(key), now.get(key))
    ]
    return len(then), different


def is_same(one: object, other: object) -> bool:
    """Equal, numbers to four digits."""
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(is_same(a, b) for a, b in zip(one, other, strict=True))
    numbers = [isinstance(v, int | float) and not isinstance(v, bool) for v in (one, other)]
    if all(numbers):
        return math.isclose(one, other, rel_tol=RELATIVE, abs_tol=ABSOLUTE)
    return one == other


def count_carried(document: Mapping[str, Any]) -> int:
    """How many figures a page carries."""
    return len(document["figures"]) + sum(len(some) for some in document["figures_of_drives"].values())


def find_by_name(drive: Mapping[str, Any], folders: Sequence[Path]) -> Path | None:
    """The folder among those given that holds most of a drive's logs, or has its name; None where none does."""
    marks = {log["sha256"] for log in drive["inputs"]}
    held = [(len(marks & set(_fingerprints(f).values())), f.name == drive["name"], f) for f in folders]
    best = max(held, key=lambda one: one[:2], default=(0, False, None))
    return best[2] if best[0] or best[1] else None
