"""The one door to the workshop, the pipeline and the comparison."""

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from dashboard.signals import Line, Window, cut_window, drive_lines, lever_path
from dashboard.work import Work
from shiftlog.compare.drives import compare_drives
from shiftlog.errors import StoreError
from shiftlog.ingest.car_file import read_car, write_car
from shiftlog.model.car import Car
from shiftlog.model.comparison import Comparison
from shiftlog.model.drive import Drive
from shiftlog.model.result import DriveResult
from shiftlog.pipeline import load_drive, measure_drive
from shiftlog.store.workshop import DriveEntry, Workshop

WINDOW_POINTS = 1600
"""Points of a line in a picture: one smallest and one largest value for each pixel or two of a wide screen."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Loaded:
    """A drive's logs with the lines drawn from them."""

    drive: Drive
    lines: tuple[Line, ...]


class Kept:
    """The last few things that were made, by key; making one does not hold up the others."""

    def __init__(self, size: int) -> None:
        self._size = size
        self._things: OrderedDict[Hashable, object] = OrderedDict()
        self._lock = threading.Lock()

    def get[T](self, key: Hashable, make: Callable[[], T]) -> T:
        """The thing of that key, made now if it is not there."""
        with self._lock:
            if key in self._things:
                self._things.move_to_end(key)
                return self._things[key]
        thing = make()
        with self._lock:
            self._things[key] = thing
            while len(self._things) > self._size:
                self._things.popitem(last=False)
        return thing

    def drop(self, wanted: Callable[[Hashable], bool]) -> None:
        """Forget the things whose key is wanted."""
        with self._lock:
            for key in [key for key in self._things if wanted(key)]:
                del self._things[key]


class Library:
    """What the pages read and do. Safe to use from several threads."""

    def __init__(self, workshop: Workshop) -> None:
        self._workshop = workshop
        self._results, self._drives, self._windows = Kept(64), Kept(2), Kept(64)
        self.work = Work()

    @property
    def root(self) -> Path:
        """The workshop's folder."""
        return self._workshop.root

    def drives(self) -> tuple[DriveEntry, ...]:
        """All drives, in the order they were added."""
        return self._workshop.drives()

    def entry(self, drive_id: str) -> DriveEntry | None:
        """A drive, or None where there is none of that id."""
        return next((entry for entry in self.drives() if entry.id == drive_id), None)

    def result(self, drive_id: str) -> DriveResult | None:
        """What was measured of a drive, or None."""
        result = self._results.get(drive_id, lambda: self._workshop.result(drive_id))
        if result is None:
            self._results.drop(lambda key: key == drive_id)
        return result

    def car(self, name: str) -> Car | None:
        """The profile of a car: as saved in the workshop, else as its last drive has it; None where unknown."""
        entry = next((car for car in self._workshop.cars() if car.name == name), None)
        return None if entry is None else self._workshop.car(entry.id)

    def load(self, drive_id: str) -> Loaded:
        """A drive's logs. Raises what reading them raises."""
        return self._drives.get(drive_id, lambda: self._load(drive_id))

    def window(self, drive_id: str, window_s: tuple[float, float] | None, *, points: int = WINDOW_POINTS) -> Window:
        """The drive's lines, thinned for a window."""
        key = (drive_id, window_s, points)
        return self._windows.get(key, lambda: cut_window(self.load(drive_id).lines, window_s, points=points))

    def path(self, drive_id: str, window_s: tuple[float, float] | None = None) -> np.ndarray:
        """The lever's path in gate mm, (m, 2)."""
        result = self.result(drive_id)
        gate = None if result is None else result.gate
        return self._windows.get(
            (drive_id, "path", window_s), lambda: lever_path(self.load(drive_id).drive, gate, window_s=window_s)
        )

    def compare(self, before: tuple[str, ...], after: tuple[str, ...]) -> Comparison:
        """Measured drives, compared. CompareError, or StoreError where one is not measured."""
        return compare_drives(self._measured(before), self._measured(after))

    def add(self, folder: str) -> str:
        """Copy a drive folder into the workshop and begin to measure it; returns its id."""
        path = Path(folder.strip().strip('"')).expanduser()
        if not folder.strip() or not path.is_dir():
            raise StoreError(f"{folder.strip() or 'the field'}: is no folder on this machine; give the drive's folder")
        drive_id = self._workshop.add_drive(path)
        self.begin_measuring(drive_id)
        return drive_id

    def begin_measuring(self, drive_id: str) -> None:
        """Measure a drive behind the page; ``work`` tells how far it is."""
        self.work.begin(drive_id, lambda progress: self.measure(drive_id, progress=progress))

    def measure(self, drive_id: str, *, progress: Callable[[str], None] | None = None) -> None:
        """Measure a drive now and keep the result."""
        drive = load_drive(self._workshop.drive_folder(drive_id), progress=progress)
        self._workshop.save_result(drive_id, measure_drive(drive, progress=progress))
        self._forget(drive_id)

    def save_car(self, car: Car) -> Path:
        """Write a car's profile and read it back. ProfileError names what is wrong in it."""
        raise NotImplementedError

    def _load(self, drive_id: str) -> Loaded:
        drive = load_drive(self._workshop.drive_folder(drive_id))
        result = self.result(drive_id)
        return Loaded(drive=drive, lines=drive_lines(drive, None if result is None else result.gate))

    def _measured(self, drive_ids: tuple[str, ...]) -> tuple[DriveResult, ...]:
        results = [(drive_id, self.result(drive_id)) for drive_id in drive_ids]
        missing = [drive_id for drive_id, result in results if result is None]
        if missing:
            raise StoreError(f"{', '.join(missing)}: not measured yet; open the drive and measure it")
        return tuple(result for _, result in results)

    def _forget(self, drive_id: str) -> None:
        self._results.drop(lambda key: key == drive_id)
        self._drives.drop(lambda key: key == drive_id)
        self._windows.drop(lambda key: key[0] == drive_id)
