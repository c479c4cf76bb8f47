"""The one door to the workshop, the pipeline and the comparison."""

import tempfile
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from statistics import median

import numpy as np

from dashboard.close_ups import Shock, Spectrogram, SwingPicture, prepare_swings, read_shock, read_spectrogram
from dashboard.imports import Imports
from dashboard.kept import Kept
from dashboard.kept_lines import keep_lines
from dashboard.profile_text import read_profile
from dashboard.signals import Line, Window, cut_window, drive_lines, lever_path
from dashboard.work import Work
from shiftlog import __version__
from shiftlog.compare.drives import compare_drives
from shiftlog.errors import ShiftlogError, StoreError, UnreadResult
from shiftlog.ingest.car_file import read_car, write_car
from shiftlog.measure.scene import Scene
from shiftlog.model.cables import CableAdvice, Clearance
from shiftlog.model.car import Car
from shiftlog.model.comparison import Comparison
from shiftlog.model.drive import Drive
from shiftlog.model.result import DriveResult
from shiftlog.model.seats import SeatReport
from shiftlog.model.shift import Shift
from shiftlog.neutral.seat_report import report_drive
from shiftlog.pipeline import advise_cables, clear_cables, load_drive, measure_drive, scene_of
from shiftlog.store.jobs import Jobs
from shiftlog.store.mark_book import MarkBook
from shiftlog.store.profiles import PROFILE, kept_profile
from shiftlog.store.prompted import Prompted
from shiftlog.store.workshop import DriveEntry, Workshop

WINDOW_POINTS = 1600
"""Points of a line in a picture: one smallest and one largest value for each pixel or two of a wide screen."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Loaded:
    """A drive's logs with the lines drawn from them."""

    drive: Drive
    lines: tuple[Line, ...]


class Library:
    """What the pages read and do. Safe to use from several threads."""

    def __init__(self, workshop: Workshop) -> None:
        self._workshop = workshop
        self._results, self._comparisons = Kept(64), Kept(8)
        self._drives, self._windows = Kept(2), Kept(64)
        self._scenes, self._swings, self._close_ups = Kept(2), Kept(2), Kept(64)
        self._cables, self._seats = Kept(8), Kept(8)
        self.marks = MarkBook(
            workshop, whole_s=lambda drive_id: self.window(drive_id, None).whole_s, changed=self._marks_changed
        )  # fmt: skip
        self.work, self.jobs, self.prompted = Work(), Jobs(workshop), Prompted(workshop.root)
        self.imports = Imports(
            workshop.root / "incoming", work=self.work, profile_of=self._profile_text,
            load=lambda path, say: load_drive(path, progress=say),
        )  # fmt: skip

    @classmethod
    def open(cls, root: Path) -> "Library":
        """The library over a workshop folder, which is made where there is none. StoreError."""
        return cls(Workshop.open(root))

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
        """What was measured of a drive; None where nothing was, or nothing that this version reads."""
        try:
            result = self._results.get(drive_id, lambda: self._workshop.result(drive_id))
        except UnreadResult:
            return None
        if result is None:
            self._results.drop(lambda key: key == drive_id)
        return result

    def why_unread(self, drive_id: str) -> str | None:
        """Why a drive's result cannot be read, or None."""
        try:
            self._workshop.result(drive_id)
        except UnreadResult as why:
            return str(why)
        return None

    def car(self, name: str) -> Car | None:
        """The profile of a car as the workshop has it, or None."""
        entry = next((car for car in self._workshop.cars() if car.name == name), None)
        return None if entry is None else read_profile(entry.profile)

    def drive_car(self, drive_id: str) -> Car | None:
        """The profile a drive is measured with, or None where its logs cannot be read any more."""
        try:
            return self.load(drive_id).drive.car
        except ShiftlogError:
            return None

    def learnt(self, name: str | None) -> dict[str, float]:
        """Engine speed over vehicle speed by gear [rpm/(m/s)]: the median over the car's measured drives."""
        tables = [result.summary.learnt_rpm_per_mps for result in self._results_of(name)]
        gears = sorted({gear for table in tables for gear in table})
        return {gear: median(table[gear] for table in tables if gear in table) for gear in gears}

    def profile_notes(self, name: str | None) -> list[str]:
        """What measuring the car's drives pointed out, each once."""
        return list(dict.fromkeys(note for result in self._results_of(name) for note in result.notes))

    def _results_of(self, name: str | None) -> list[DriveResult]:
        results = [self.result(entry.id) for entry in self.drives() if entry.car == name and entry.measured]
        return [result for result in results if result is not None]

    def load(self, drive_id: str) -> Loaded:
        """A drive's logs. Raises what reading them raises."""
        return self._drives.get(drive_id, lambda: self._load(drive_id))

    def window(self, drive_id: str, window_s: tuple[float, float] | None, *, points: int = WINDOW_POINTS) -> Window:
        """The drive's lines, thinned for a window."""
        key = (drive_id, window_s, points)
        return self._windows.get(key, lambda: cut_window(self._lines(drive_id), window_s, points=points))

    def path(self, drive_id: str, window_s: tuple[float, float] | None = None) -> np.ndarray:
        """The lever's path in gate mm, (m, 2)."""
        return self._windows.get(
            (drive_id, "path", window_s), lambda: lever_path(self._lines(drive_id), window_s=window_s)
        )  # fmt: skip

    def spectrogram(self, drive_id: str, shift: Shift) -> Spectrogram | str:
        """The sound around a shift, or why there is none. Raises what reading the logs raises."""
        return self._close_ups.get(
            (drive_id, "sound", shift.number), lambda: read_spectrogram(self._scene(drive_id), shift)
        )  # fmt: skip

    def shock(self, drive_id: str, shift: Shift) -> Shock | str:
        """The shock response spectrum of a shift's blow, or why there is none. Raises what reading the logs raises."""
        return self._close_ups.get((drive_id, "shock", shift.number), lambda: read_shock(self._scene(drive_id), shift))

    def swing(self, drive_id: str, shift: Shift) -> SwingPicture | str:
        """The swing after a shift, or why there is none. Raises what reading the logs raises."""
        return self._close_ups.get((drive_id, "swing", shift.number), lambda: self._finder(drive_id)(shift))

    def _scene(self, drive_id: str) -> Scene:
        return self._scenes.get(drive_id, lambda: scene_of(self.load(drive_id).drive, self.result(drive_id)))

    def _finder(self, drive_id: str) -> Callable[[Shift], SwingPicture | str]:
        return self._swings.get(drive_id, lambda: prepare_swings(self._scene(drive_id)))

    def cables(self, drive_id: str) -> CableAdvice | str:
        """What a drive's clearance test says of the cables, or why it says nothing."""
        return self._cables.get(drive_id, lambda: self._advise(drive_id))

    def seats(self, drive_id: str) -> SeatReport | str:
        """Where the lever lies in its gears, or why that is not known. Raises what reading the logs raises."""
        return self._seats.get(drive_id, lambda: report_drive(self._scene(drive_id), self.result(drive_id)))

    def clearances(self, drive_id: str) -> tuple[Clearance, ...]:
        """What a clearance test found of each gear, also where no setting follows; none where it cannot be used."""
        try:
            return clear_cables([self.load(drive_id).drive])
        except ShiftlogError:
            return ()

    def _advise(self, drive_id: str) -> CableAdvice | str:
        try:
            return advise_cables([self.load(drive_id).drive])
        except ShiftlogError as why:
            return str(why)

    def compare(self, before: tuple[str, ...], after: tuple[str, ...], *, cold: bool = False) -> Comparison:
        """Measured drives, compared. CompareError, or StoreError where one is not measured. cold : of a cold complaint

        All other drives of the workshop are looked through for repeat drives, which tell how much drives differ.
        """
        return self._comparisons.get((before, after, cold), lambda: self._compare(before, after, cold))

    def _compare(self, before: tuple[str, ...], after: tuple[str, ...], cold: bool) -> Comparison:
        sides = self._measured(before), self._measured(after)
        others = [entry.id for entry in self.drives() if entry.measured and entry.id not in before + after]
        history = [result for drive_id in others if (result := self.result(drive_id)) is not None]
        car = self.car(sides[0][0].car)
        return compare_drives(*sides, history=history, limits=car.limits if car else {}, cold_complaint=cold)

    def add(self, folder: str) -> str:
        """Copy a drive folder into the workshop and begin to measure it; returns its id."""
        path = Path(folder.strip().strip('"')).expanduser()
        if not folder.strip() or not path.is_dir():
            raise StoreError(f"{folder.strip() or 'the field'}: is no folder on this machine; give the drive's folder")
        drive_id = self.copy_in(path)
        self.begin_measuring(drive_id)
        return drive_id

    def copy_in(self, folder: Path) -> str:
        """Copy a drive folder into the workshop; known logs give the id they have."""
        return self._workshop.add_drive(folder)

    def begin_measuring(self, drive_id: str) -> None:
        """Measure a drive behind the page; ``work`` tells how far it is."""
        self.work.begin(drive_id, lambda progress: self.measure(drive_id, progress=progress))

    def _marks_changed(self, drive_id: str) -> None:
        self.work.begin_anew(drive_id, lambda progress: self.measure(drive_id, progress=progress))

    def measure(self, drive_id: str, *, progress: Callable[[str], None] | None = None) -> None:
        """Measure a drive now and keep the result."""
        drive = self._drive(drive_id, progress=progress)
        self._workshop.save_result(drive_id, measure_drive(drive, progress=progress))
        self._forget(drive_id)

    def cars(self) -> tuple[str, ...]:
        """Names of the workshop's cars."""
        return tuple(car.name for car in self._workshop.cars())

    def add_incoming(self, token: str) -> str:
        """Make waiting logs a drive of the workshop and begin to measure it; returns its id. ShiftlogError."""
        known = {entry.id: entry.name for entry in self.drives()}
        drive_id = self.copy_in(self.imports.drive_folder(token))
        if drive_id in known:
            raise StoreError(f"these logs are in the workshop already, as drive {known[drive_id]}")
        self.imports.clear(token)
        self.begin_measuring(drive_id)
        return drive_id

    def _profile_text(self, name: str) -> str | None:
        return next((car.profile for car in self._workshop.cars() if car.name == name), None)

    def save_car(self, car: Car) -> Path:
        """Write a car's profile, read it back, and keep it; returns the file. ProfileError names what is wrong."""
        with tempfile.TemporaryDirectory() as folder:
            trial = Path(folder) / PROFILE
            write_car(car, trial)
            car = read_car(trial)
        path = kept_profile(self.root, car.name)
        path.parent.mkdir(parents=True, exist_ok=True)
        write_car(car, path)
        self._workshop.save_car(car)
        return path

    def measure_again(self, name: str) -> int:
        """Queue all drives of a car, whose profile has changed; returns how many."""
        mine = [entry for entry in self.drives() if entry.car == name]
        for entry in mine:
            self.begin_measuring(entry.id)
        return len(mine)

    def _drive(self, drive_id: str, *, progress: Callable[[str], None] | None = None) -> Drive:
        """The drive, with the profile that the form keeps for its car, else its own."""
        drive = load_drive(self._workshop.drive_folder(drive_id), progress=progress)
        path = kept_profile(self.root, drive.car.name)
        return replace(drive, car=read_car(path)) if path.is_file() else drive

    def _load(self, drive_id: str) -> Loaded:
        drive = self._drive(drive_id)
        result = self.result(drive_id)
        return Loaded(drive=drive, lines=drive_lines(drive, None if result is None else result.gate))

    def _lines(self, drive_id: str) -> tuple[Line, ...]:
        """The drive's lines, from the workshop's cache where it has them for this gate map."""
        result = self.result(drive_id)
        gate = None if result is None else result.gate
        mark = "" if gate is None else f"{gate.matrix.tolist()}{gate.offset.tolist()}"
        key = f"lines/{__version__}/{drive_id}/{mark}"
        return keep_lines(self._workshop.cache, key, lambda: self.load(drive_id).lines)

    def _measured(self, drive_ids: tuple[str, ...]) -> tuple[DriveResult, ...]:
        results = [(drive_id, self.result(drive_id)) for drive_id in drive_ids]
        missing = {drive_id for drive_id, result in results if result is None}
        if waiting := [entry.name for entry in self.drives() if entry.id in missing]:
            raise StoreError(f"{', '.join(waiting)}: not measured yet; open the drive and measure it")
        if missing:
            raise StoreError(f"{', '.join(sorted(missing))}: no drive of this workshop; choose others")
        return tuple(result for _, result in results)

    def _forget(self, drive_id: str) -> None:
        for kept in (self._results, self._drives, self._scenes, self._cables, self._seats, self._swings):
            kept.drop(lambda key: key == drive_id)
        for kept in (self._windows, self._close_ups):
            kept.drop(lambda key: key[0] == drive_id)
        # Any drive may be a repeat drive of any comparison.
        self._comparisons.drop(lambda key: True)
