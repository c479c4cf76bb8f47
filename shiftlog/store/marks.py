"""Marked spans of a drive in the workshop: read, checked, added and taken out; earlier versions stay beside it."""

import codecs
import os
import shutil
import tempfile
from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from shiftlog.errors import ProfileError, StoreError
from shiftlog.ingest.drive_file import DRIVE_FILE, marks_of
from shiftlog.ingest.drive_models import COLDEST_C, HOTTEST_C, LONGEST_WAIT_S, DriveToml
from shiftlog.ingest.faults import check_toml, load_toml
from shiftlog.model.drive import MarkedTest
from shiftlog.model.guided import TEST_KINDS
from shiftlog.store.mark_paste import BEYOND_S, Span
from shiftlog.store.mark_text import add_test, remove_test

SHORTEST_S = 0.5
"""A shorter span holds no step of any test: the two ends were hit by mistake."""
SAME_S = 0.0005


def read_marks(folder: Path) -> tuple[MarkedTest, ...]:
    """The marked spans of a drive folder, as written. ProfileError where its ``drive.toml`` is wrong."""
    drive = check_toml(DriveToml, load_toml(folder / DRIVE_FILE), file=DRIVE_FILE)
    return marks_of(drive)


def read_started(folder: Path) -> datetime | None:
    """The drive's ``started`` where it is an instant: a date alone, or a time without its zone, is none."""
    drive = check_toml(DriveToml, load_toml(folder / DRIVE_FILE), file=DRIVE_FILE)
    started = drive.drive.started
    if isinstance(started, str):
        try:
            started = datetime.fromisoformat(started)
        except ValueError:
            return None
    return started if isinstance(started, datetime) and started.tzinfo is not None else None


def check_mark(mark: MarkedTest, others: Iterable[MarkedTest], whole_s: Span) -> MarkedTest:
    """The mark, cut at the drive's ends. StoreError, in one line, where it cannot be one.

    whole_s : first and last instant of the drive [drive time, s]
    """
    _check_itself(mark, whole_s)
    start_s, end_s = max(mark.start_s, whole_s[0]), min(mark.end_s, whole_s[1])
    cut = replace(mark, start_s=start_s, end_s=end_s)
    for other in others:
        if other.start_s < end_s - SAME_S and start_s < other.end_s - SAME_S:
            _check_beside(cut, other)
    return cut


def _check_itself(mark: MarkedTest, whole_s: Span) -> None:
    if mark.kind not in TEST_KINDS:
        raise StoreError(f'kind "{mark.kind}" is not known; known: {", ".join(TEST_KINDS)}')
    if not mark.end_s > mark.start_s:
        raise StoreError(f"the end, {mark.end_s:g} s, is not after the start, {mark.start_s:g} s; change one of them")
    if mark.end_s - mark.start_s < SHORTEST_S:
        raise StoreError(f"{mark.end_s - mark.start_s:.2f} s hold no test; mark {SHORTEST_S:g} s or more")
    if mark.start_s < whole_s[0] - BEYOND_S or mark.end_s > whole_s[1] + BEYOND_S:
        raise StoreError(
            f"{mark.start_s:g} to {mark.end_s:g} s lies outside the drive, which runs from {whole_s[0]:.1f} to "
            f"{whole_s[1]:.1f} s"
        )
    if mark.waits_s:
        _check_waits(mark)
    if mark.gearbox_temp_c is not None and not COLDEST_C <= mark.gearbox_temp_c <= HOTTEST_C:
        raise StoreError(
            f"a gearbox of {mark.gearbox_temp_c:g} °C cannot be; write {COLDEST_C:g} to {HOTTEST_C:g}, or leave it out"
        )


def _check_waits(mark: MarkedTest) -> None:
    if mark.kind != "spin_down":
        raise StoreError(f"waits belong to a spin_down test, not to {mark.kind}; leave them out")
    wrong = next((wait for wait in mark.waits_s if not 0 < wait <= LONGEST_WAIT_S), None)
    if wrong is not None:
        raise StoreError(f"a wait of {wrong:g} s cannot be; write more than 0 and no more than {LONGEST_WAIT_S:g} s")
    waited_s, lasts_s = sum(mark.waits_s), mark.end_s - mark.start_s
    if waited_s > lasts_s:
        raise StoreError(f"waits of {waited_s:g} s together do not fit in {lasts_s:g} s; mark the whole test")


def _check_beside(mark: MarkedTest, other: MarkedTest) -> None:
    """Two kinds may share a time (let-goes within a straight push); one kind counted twice, or two set-ups, may not."""
    at = f"{other.start_s:g} to {other.end_s:g} s"
    if other.kind == mark.kind:
        raise StoreError(f"{mark.kind} is marked at {at} already, and would count twice where they overlap")
    if None not in (mark.configuration, other.configuration) and mark.configuration != other.configuration:
        raise StoreError(
            f'the car cannot be "{mark.configuration}" and "{other.configuration}" at once: see {other.kind} at {at}'
        )


def add_marks(folder: Path, marks: Iterable[MarkedTest], whole_s: Span) -> tuple[MarkedTest, ...]:
    """Write more marked spans into a drive folder, all or none; returns them as written. StoreError."""
    wanted = list(marks)
    if not wanted:
        raise StoreError("there is no span to mark; name a kind, a start and an end")
    others, added = list(read_marks(folder)), []
    for mark in wanted:
        added.append(check_mark(mark, [*others, *added], whole_s))

    def add_all(text: str) -> str:
        for mark in added:
            text = add_test(text, mark)
        return text

    _rewrite(folder, add_all)
    return tuple(added)


def remove_mark(folder: Path, mark: MarkedTest) -> None:
    """Take a marked span out of a drive folder. StoreError where there is none like it any more."""
    for number, other in enumerate(read_marks(folder)):
        if _same(mark, other):
            _rewrite(folder, lambda text, number=number: remove_test(text, number))
            return
    raise StoreError(f"{mark.kind} at {mark.start_s:g} to {mark.end_s:g} s is not marked any more; open the page again")


def _same(one: MarkedTest, other: MarkedTest) -> bool:
    near = abs(one.start_s - other.start_s) < SAME_S and abs(one.end_s - other.end_s) < SAME_S
    return near and _untimed(one) == _untimed(other)


def _untimed(mark: MarkedTest) -> tuple:
    return mark.kind, mark.configuration, mark.waits_s, mark.gearbox_temp_c


def _rewrite(folder: Path, change: Callable[[str], str]) -> None:
    """Change ``drive.toml`` as a whole or not at all, its earlier version kept as ``drive.N.toml``."""
    file = folder / DRIVE_FILE
    try:
        before = file.read_bytes()
        mark = codecs.BOM_UTF8 if before.startswith(codecs.BOM_UTF8) else b""
        after = mark + change(before.decode("utf-8-sig")).encode()
        _keep(folder, before)
        with tempfile.TemporaryDirectory(dir=folder, prefix=".drive-") as beside:
            trial = Path(beside) / DRIVE_FILE
            trial.write_bytes(after)
            shutil.copymode(file, trial)
            os.replace(trial, file)
    except UnicodeDecodeError:
        raise ProfileError(f"{DRIVE_FILE}: is not UTF-8 text; save it as UTF-8.") from None
    except OSError as error:
        raise StoreError(f"{file}: cannot be written ({error.strerror}); is the workshop's disk full?") from error


def _keep(folder: Path, before: bytes) -> None:
    number = 1
    while True:
        try:
            with (folder / f"drive.{number}.toml").open("xb") as file:
                file.write(before)
            return
        except FileExistsError:
            number += 1
