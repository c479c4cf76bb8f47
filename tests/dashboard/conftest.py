"""Hand-made model objects to draw, two synthesised drives to serve, and a workshop over them."""

import shutil
from dataclasses import replace

import numpy as np
import pytest

from dashboard.library import Library
from shiftlog.model.car import Car, GateLayout, Plane
from shiftlog.model.comparison import LeftOutCount, Row
from shiftlog.model.drive import ClockMatch, DriveHead, LeftOut, Mounting
from shiftlog.model.gate import GateMap, Seat
from shiftlog.model.reading import measured, unmeasured
from shiftlog.model.recording import Quality
from shiftlog.model.rest import Rest
from shiftlog.model.result import DriveResult, RecordingReport, Summary, Unable
from shiftlog.model.share import Share
from shiftlog.model.shift import Rejected, Shift
from shiftlog.store.workshop import Workshop
from shiftlog.synth.recorder import Sensors
from shiftlog.synth.scenario import make_drive

LAYOUT = GateLayout(
    planes=(Plane(forward="1", rear="2"), Plane(forward="3", rear="4"), Plane(forward="5", rear="R")), home="3-4"
)


@pytest.fixture
def layout() -> GateLayout:
    return LAYOUT


@pytest.fixture
def make_shift():
    """A shift of the lever from 2 to 3, with whatever a test wants different."""

    def make(**different) -> Shift:
        readings = {
            "shift_time_s": measured("shift_time_s", 0.3812, interval95=(0.373, 0.389)),
            "neutral_time_s": measured("neutral_time_s", 0.28, uncertainty=0.004),
            "baulk_time_s": measured("baulk_time_s", 0.06),
            "vehicle_speed_mps": measured("vehicle_speed_mps", 20.0),
            "knock_peak_mps2": unmeasured("knock_peak_mps2", "no accelerometer at the gearbox"),
        }
        plain = {
            "number": 1,
            "from_gear": "2",
            "to_gear": "3",
            "start_s": 41.42,
            "out_s": 41.47,
            "in_s": 41.75,
            "end_s": 41.80,
            "seen_by": "lever",
            "outcome": "clean",
            "attempts": 1,
            "baulk": ((41.68, 41.74),),
            "readings": readings,
        }
        return Shift(**(plain | different))

    return make


@pytest.fixture
def gap_shift() -> Shift:
    """A change of gear that no lever sensor saw."""
    readings = {"drive_gap_s": measured("drive_gap_s", 0.62), "vehicle_speed_mps": measured("vehicle_speed_mps", 12.0)}
    return Shift(
        number=2,
        from_gear="1",
        to_gear="2",
        start_s=12.0,
        end_s=None,
        seen_by="drivetrain",
        outcome=None,
        gap=(12.0, 12.62),
        readings=readings,
    )


@pytest.fixture
def make_rest():
    """A rest at home after the lever was let go, with whatever a test wants different."""

    def make(**different) -> Rest:
        plain = {
            "start_s": 67.1,
            "end_s": 69.0,
            "select_mm": 0.4,
            "engage_mm": 0.1,
            "plane": "3-4",
            "released": True,
            "came_from": "right",
            "in_bend": False,
            "readings": {"offset_mm": measured("offset_mm", 0.4)},
        }
        return Rest(**(plain | different))

    return make


@pytest.fixture
def wrong_rest(make_rest) -> Rest:
    """A rest in the plane of first and second, at speed."""
    readings = {"offset_mm": measured("offset_mm", -24.0), "vehicle_speed_mps": measured("vehicle_speed_mps", 22.8)}
    return make_rest(select_mm=-24.0, plane="1-2", readings=readings, over_rev_if={"1": 9820.0, "2": 5980.0})


def gate_map() -> GateMap:
    seats = tuple(
        Seat(
            gear=g,
            select_mm=LAYOUT.position_mm(g)[0],
            engage_mm=LAYOUT.position_mm(g)[1],
            spread_mm=0.8,
            stays=4,
            off_mm=(0, 0),
        )
        for g in LAYOUT.gears
    )
    return GateMap(
        matrix=np.eye(2) * 0.09,
        offset=np.array([-180.0, -180.0]),
        orientation="found",
        evidence="engine speed",
        scale="relative",
        seats=seats,
        layout=LAYOUT,
        noise_mm=0.2,
    )


@pytest.fixture
def make_result(make_shift, make_rest):
    """A measured drive with one shift and one rest, with whatever a test wants different."""

    def make(**different) -> DriveResult:
        report = RecordingReport(
            name="lever",
            place="lever",
            quality=Quality(rate_hz=250.0, jitter_s=0.0002, samples=50_000, duration_s=200.0),
            clock=ClockMatch(offset_s=0.0, drift_ppm=0.0, how="reference", confidence=1.0),
            mounting=Mounting(rotation=None, how="unknown"),
            can_measure=("shift time",),
            cannot_measure=(Unable(name="knock", kind="absent", why="no accelerometer in this log"),),
        )
        plain = {
            "head": DriveHead(id="warm-2", stage="after"),
            "car": "Test coupe",
            "version": "0",
            "settings": {},
            "inputs": (),
            "clock_recording": "lever",
            "clock_zero_s": 0.0,
            "recordings": (report,),
            "left_out": (LeftOut(name="phone", file="phone.csv", why="phone.csv, row 3: a number is needed"),),
            "gate": gate_map(),
            "gate_why": None,
            "shifts": (make_shift(),),
            "rests": (make_rest(),),
            "rejected": (Rejected(start_s=88.1, end_s=88.5, kind="shift", why="the lever fell back by itself"),),
            "summary": Summary(wrong_plane=Share(k=9, n=12, low=0.43, high=0.95)),
            "notes": ("gear 2: the ratio is off",),
        }
        return DriveResult(**(plain | different))

    return make


@pytest.fixture
def make_row():
    """A row that says better, provisionally."""

    def make(**different) -> Row:
        plain = {
            "measure": "shift_time_s",
            "group": "2-3",
            "unit": "s",
            "better": "lower",
            "drives_before": 1,
            "drives_after": 1,
            "n_before": 5,
            "n_after": 4,
            "before": 0.44,
            "after": 0.36,
            "difference": -0.08,
            "ci_low": -0.10,
            "ci_high": -0.05,
            "p": None,
            "p_corrected": None,
            "cliffs_delta": None,
            "smallest_change": None,
            "margin": 0.02,
            "df": None,
            "method": "bootstrap",
            "left_out": LeftOutCount(before=3, after=1, why=("paused in neutral",)),
            "more_drives": None,
            "verdict": "better",
            "provisional": True,
            "why": "one drive a side",
            "values_before": {"cold-1": (0.42, 0.44, 0.45, 0.46, 0.43)},
            "values_after": {"warm-2": (0.35, 0.36, 0.37, 0.36)},
        }
        return Row(**(plain | different))

    return make


@pytest.fixture(scope="session")
def drive_folders(tmp_path_factory):
    """A short drive before, one after, and one without a lever."""
    root = tmp_path_factory.mktemp("drives")
    folders = {}
    for seed, (name, health) in enumerate((("before", "worn"), ("after", "healthy"))):
        folders[name] = root / name
        drive = make_drive(car="hatch5", seed=seed + 1, health=health, minutes=1.5, sensors=Sensors(body_rate_hz=None))
        drive.write(folders[name], stage=name)
    return folders


@pytest.fixture(scope="session")
def measured_workshop(tmp_path_factory, drive_folders) -> tuple[Library, dict[str, str]]:
    """A library over a workshop with both drives measured, and their ids by stage. Not to be changed."""
    library = Library(Workshop.open(tmp_path_factory.mktemp("workshop")))
    drive_ids = {stage: library.copy_in(folder) for stage, folder in drive_folders.items()}
    for drive_id in drive_ids.values():
        library.measure(drive_id)
    return library, drive_ids


@pytest.fixture
def empty_library(tmp_path) -> Library:
    return Library(Workshop.open(tmp_path / "workshop"))


@pytest.fixture
def car() -> Car:
    return Car(
        name="Test coupe",
        gate=replace(LAYOUT, lockout="lift"),
        redline_rpm=7400.0,
        ratios={"1": 3.2, "2": 1.95},
        final_drive=dict.fromkeys(LAYOUT.gears, 4.1),
        rolling_radius_m=0.291,
        limits={"shift_time_s": 0.45},
    )


@pytest.fixture
def waiting(empty_library, drive_folders, tmp_path):
    """A library in which the bare logs of a drive wait, by their paths."""
    folder = tmp_path / "logs"
    folder.mkdir()
    for name in ("lever.csv", "bus.csv", "car.toml"):
        shutil.copy(drive_folders["after"] / name, folder / name)
    return empty_library, folder
