"""What ``car.toml`` may hold, as it is written there."""

from typing import Annotated, Literal

from pydantic import Field

from shiftlog.ingest.faults import Section

GEARS = ("1", "2", "3", "4", "5", "6", "7", "R")

Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]
PerGear = dict[str, Positive]
Shaft = Literal["output", "input"]


class CarHead(Section):
    """``[car]``. ``clutch_switch`` says what the clutch channel is."""

    name: str
    redline_rpm: Positive | None = None
    clutch_switch: Literal["position", "top", "bottom"] | None = None


class Gearbox(Section):
    """``[gearbox]``: ratios where they are known, else what a drive taught."""

    final_drive: Positive | PerGear | None = None
    ratios: PerGear = {}
    dog_teeth: dict[str, Annotated[int, Field(gt=0)]] = {}
    hub: Shaft | dict[str, Shaft] | None = None
    reverse_synchronised: bool | None = None
    learnt_rpm_per_kmh: PerGear = {}


class Tyre(Section):
    """``[tyre]``: a size from the sidewall, or a measured rolling radius, which goes first."""

    size: str | None = None
    rolling_radius_m: Annotated[float, Field(gt=0.1, lt=1.0)] | None = None


class PlaneEntry(Section):
    """One slot of the gate."""

    forward: str | None = None
    rear: str | None = None


class PerUnit(Section):
    """``mm_per_unit``: lever travel of one logged unit, from a ruler."""

    select: Positive
    engage: Positive


class Gate(Section):
    """``[gate]``, planes from left to right."""

    planes: list[PlaneEntry]
    home: str | None = None
    lockout: str | None = None
    plane_pitch_mm: Positive = 25.0
    engage_travel_mm: Positive = 30.0
    travel_at: Literal["knob", "sensor"] = "knob"
    mm_per_unit: PerUnit | None = None


class Cables(Section):
    """``[cables]``: the adjusters; ``engage_per_select``: mm along the gate for each mm of the select cable."""

    end: Literal["turn", "clamp"]
    engage_mm_per_turn: Positive | None = None
    select_mm_per_turn: Positive | None = None
    engage_range_mm: Annotated[list[float], Field(min_length=2, max_length=2)] | None = None
    select_range_mm: Annotated[list[float], Field(min_length=2, max_length=2)] | None = None
    engage_per_select: float | None = None
    select_per_engage: float | None = None


class CarToml(Section):
    """The whole file."""

    format: Literal[1] = 1
    car: CarHead
    gearbox: Gearbox = Gearbox()
    tyre: Tyre = Tyre()
    gate: Gate | None = None
    limits: dict[str, float | dict[str, float]] = {}
    cables: Cables | None = None
