"""What ``drive.toml`` may hold, as it is written there."""

from datetime import date, datetime
from typing import Annotated, Literal

from pydantic import Field

from shiftlog.ingest.faults import Section

Finite = Annotated[float, Field(allow_inf_nan=False)]
COLDEST_C, HOTTEST_C = -60.0, 250.0
"""Colder than any road and hotter than any gear oil stands; beyond, a reading is a slip of the pen or in degF."""

Temperature = Annotated[float, Field(allow_inf_nan=False, ge=COLDEST_C, le=HOTTEST_C)]
LONGEST_WAIT_S = 60.0
"""No shaft that is let go turns for so long: a longer wait is a slip of the pen."""
WaitS = Annotated[float, Field(allow_inf_nan=False, gt=0, le=LONGEST_WAIT_S)]
Row = Annotated[list[Finite], Field(min_length=3, max_length=3)]


class DriveEntry(Section):
    """``[drive]``."""

    id: str | None = None
    started: datetime | date | str | None = None
    stage: str | None = None
    driver: str | None = None
    gearbox_temp_c: Temperature | None = None
    cold: bool | None = None
    notes: str | None = None


class CarEntry(Section):
    """``[car]``."""

    profile: str


class ColumnEntry(Section):
    """One line of ``[recording.columns]``."""

    column: str
    unit: str | None = None
    grows: str | None = None


class CalibrationEntry(Section):
    """``[recording.calibration]``: standard uncertainties of the accelerometer."""

    gain: Annotated[float, Field(ge=0.0, le=0.5)]
    bias_mps2: Annotated[float, Field(ge=0.0, le=5.0)]


class RecordingEntry(Section):
    """One ``[[recording]]``."""

    file: str
    place: Literal["lever", "tower", "gearbox", "body", "engine", "pedal"]
    name: str | None = None
    clock: str | None = None
    clock_offset_s: Finite | None = None
    mounting: Annotated[list[Row], Field(min_length=3, max_length=3)] | None = None
    calibration: CalibrationEntry | None = None
    decode: str | None = None
    allow_restart: bool = False
    columns: dict[str, ColumnEntry] = {}


class MarkEntry(Section):
    """One ``[[test]]``. A kind nobody knows is pointed out and counts for nothing."""

    kind: str
    start_s: Finite
    end_s: Finite
    configuration: str | None = None
    waits_s: list[WaitS] = []
    gearbox_temp_c: Temperature | None = None


class DriveToml(Section):
    """The whole file."""

    format: Literal[1] = 1
    drive: DriveEntry = DriveEntry()
    car: CarEntry | None = None
    recording: list[RecordingEntry]
    test: list[MarkEntry] = []
