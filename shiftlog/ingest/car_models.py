"""What ``car.toml`` may hold, as it is written there."""

from typing import Annotated, Literal

from pydantic import Field

from shiftlog.ingest.faults import Section

GEARS = ("1", "2", "3", "4", "5", "6", "7", "R")

Finite = Annotated[float, Field(allow_inf_nan=False)]
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


LEAST_PER_TURN_MM, MOST_PER_TURN_MM = 0.05, 20.0
"""No thread of an adjuster moves a lever by less or by more in one turn (common practice, no source)."""
PerTurn = Annotated[float, Field(ge=LEAST_PER_TURN_MM, le=MOST_PER_TURN_MM, allow_inf_nan=False)]


class Cables(Section):
    """``[cables]``: the adjusters; ``engage_per_select``: mm along the gate for each mm of the select cable."""

    end: Literal["turn", "clamp"]
    engage_mm_per_turn: PerTurn | None = None
    select_mm_per_turn: PerTurn | None = None
    engage_range_mm: Annotated[list[Finite], Field(min_length=2, max_length=2)] | None = None
    select_range_mm: Annotated[list[Finite], Field(min_length=2, max_length=2)] | None = None
    engage_per_select: Finite | None = None
    select_per_engage: Finite | None = None


class CarToml(Section):
    """The whole file."""

    format: Literal[1] = 1
    car: CarHead
    gearbox: Gearbox = Gearbox()
    tyre: Tyre = Tyre()
    gate: Gate | None = None
    limits: dict[str, float | dict[str, float]] = {}
    cables: Cables | None = None
