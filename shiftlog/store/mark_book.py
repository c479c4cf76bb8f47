"""The marked spans of a workshop's drives, changed by one hand at a time; a changed drive is measured anew."""

import threading
from collections.abc import Callable, Iterable
from datetime import datetime

from shiftlog.errors import UnreadResult
from shiftlog.model.drive import MarkedTest
from shiftlog.store.mark_paste import Span, moved_by_hours, place_pasted, read_pasted, started_of
from shiftlog.store.marks import add_marks, read_marks, read_started, remove_mark
from shiftlog.store.workshop import Workshop


class MarkBook:
    """whole_s : first and last instant of a drive by its id [drive time, s]; changed : told each id that changed"""

    def __init__(
        self, workshop: Workshop, *, whole_s: Callable[[str], Span], changed: Callable[[str], None]
    ) -> None:  # fmt: skip
        self._workshop, self._whole_s, self._changed = workshop, whole_s, changed
        self._lock = threading.Lock()

    def of(self, drive_id: str) -> tuple[MarkedTest, ...]:
        """The marked spans of a drive, in order of time. ShiftlogError."""
        marks = read_marks(self._workshop.drive_folder(drive_id))
        return tuple(sorted(marks, key=lambda mark: (mark.start_s, mark.end_s)))

    def started(self, drive_id: str) -> datetime | None:
        """The instant at which a drive started, as its file says or its logs' dates do, or None. ShiftlogError."""
        return read_started(self._workshop.drive_folder(drive_id)) or self._by_logs(drive_id)

    def _by_logs(self, drive_id: str) -> datetime | None:
        try:
            result = self._workshop.result(drive_id)
        except UnreadResult:
            return None
        return started_of(result) if result is not None else None

    def add(self, drive_id: str, marks: Iterable[MarkedTest]) -> tuple[MarkedTest, ...]:
        """Mark more spans, all of them or none; returns them as written. ShiftlogError names what is wrong."""
        folder, whole_s = self._workshop.drive_folder(drive_id), self._whole_s(drive_id)
        with self._lock:
            added = add_marks(folder, marks, whole_s)
        self._changed(drive_id)
        return added

    def paste(self, drive_id: str, text: str, *, first_at_s: float | None = None) -> tuple[MarkedTest, ...]:
        """Mark what the prompts wrote; first_at_s : where the first began, else the clock tells. ShiftlogError."""
        said = read_started(self._workshop.drive_folder(drive_id))
        started = said or self._by_logs(drive_id)
        placed = place_pasted(read_pasted(text), started=started, first_at_s=first_at_s)
        if first_at_s is None and said is None:
            placed = moved_by_hours(placed, self._whole_s(drive_id))
        return self.add(drive_id, placed)

    def remove(self, drive_id: str, mark: MarkedTest) -> None:
        """Take a marked span out again. ShiftlogError where it is not there any more."""
        with self._lock:
            remove_mark(self._workshop.drive_folder(drive_id), mark)
        self._changed(drive_id)
