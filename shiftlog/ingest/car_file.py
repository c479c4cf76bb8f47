"""``car.toml`` to Car and back."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from shiftlog.ingest.car_checks import find_car_faults, gate_gears
from shiftlog.ingest.car_models import GEARS, CarToml, Gate
from shiftlog.ingest.faults import check_toml, load_toml, profile_error, unknown_keys
from shiftlog.ingest.toml_text import toml_table
from shiftlog.ingest.tyre import rolling_radius_m
from shiftlog.model.car import Car, GateLayout, Plane

_KMH_PER_MPS = 3.6

V = TypeVar("V")


@dataclass(frozen=True, eq=False, kw_only=True)
class CarFile:
    """A profile as read, with what is worth pointing out in it, one line each."""

    car: Car
    notes: tuple[str, ...] = ()


def read_car(path: Path) -> Car:
    """The car of a profile. ProfileError names every fault of the file in one line."""
    return read_car_file(path).car


def read_car_file(path: Path) -> CarFile:
    """As ``read_car``, with notes on keys that the format does not have."""
    path = Path(path)
    profile = check_toml(CarToml, load_toml(path), file=path.name)
    faults = find_car_faults(profile)
    if faults:
        raise profile_error(path.name, faults)
    unknown = unknown_keys(profile)
    notes = (f"{path.name}: not known and left out: {', '.join(unknown)}.",) if unknown else ()
    return CarFile(car=_car(profile), notes=notes)


def write_car(car: Car, path: Path) -> None:
    """Writes a profile that ``read_car`` reads back alike. The tyre is written as its rolling radius [m]."""
    parts = ["format = 1\n", toml_table("[car]", _head(car)), *_gearbox_parts(car)]
    if car.rolling_radius_m:
        parts.append(toml_table("[tyre]", {"rolling_radius_m": round(car.rolling_radius_m, 5)}))
    if car.gate:
        parts.append(toml_table("[gate]", _gate(car.gate)))
    if car.limits:
        parts.append(toml_table("[limits]", car.limits))
    if car.cables:
        parts.append(toml_table("[cables]", car.cables))
    Path(path).write_text("\n".join(parts), encoding="utf-8")


def _car(profile: CarToml) -> Car:
    box = profile.gearbox
    gears = gate_gears(profile.gate) or [g for g in GEARS if g in {**box.ratios, **box.learnt_rpm_per_kmh}]
    size = profile.tyre.size
    return Car(
        name=profile.car.name,
        gate=_layout(profile.gate) if profile.gate else None,
        redline_rpm=profile.car.redline_rpm,
        ratios=dict(box.ratios),
        final_drive=_for_each(box.final_drive, gears),
        dog_teeth=dict(box.dog_teeth),
        hub=_for_each(box.hub, gears),
        reverse_synchronised=box.reverse_synchronised,
        rolling_radius_m=profile.tyre.rolling_radius_m or (rolling_radius_m(size) if size else None),
        clutch_switch=profile.car.clutch_switch,
        learnt_rpm_per_mps={g: k * _KMH_PER_MPS for g, k in box.learnt_rpm_per_kmh.items()},
        limits={k: _for_each(v, gears) if isinstance(v, dict) else v for k, v in profile.limits.items()},
        cables=profile.cables.model_dump(exclude_none=True) if profile.cables else {},
    )


def _for_each(entry: V | Mapping[str, V] | None, gears: list[str]) -> dict[str, V]:
    """One value, or a table with ``default``, as a table by gear."""
    if entry is None:
        return {}
    if not isinstance(entry, Mapping):
        return dict.fromkeys(gears, entry)
    given = {gear: entry.get(gear, entry.get("default")) for gear in gears}
    return {gear: value for gear, value in given.items() if value is not None}


def _layout(gate: Gate) -> GateLayout:
    return GateLayout(
        planes=tuple(Plane(forward=p.forward, rear=p.rear) for p in gate.planes),
        home=None if gate.home == "none" else gate.home,
        lockout=gate.lockout,
        plane_pitch_mm=gate.plane_pitch_mm,
        engage_travel_mm=gate.engage_travel_mm,
        travel_at=gate.travel_at,
        mm_per_unit=gate.mm_per_unit.model_dump() if gate.mm_per_unit else None,
    )


def _head(car: Car) -> dict[str, object]:
    return {"name": car.name, "redline_rpm": car.redline_rpm, "clutch_switch": car.clutch_switch}


def _gearbox_parts(car: Car) -> list[str]:
    values = {
        "final_drive": _short(car.final_drive),
        "ratios": car.ratios or None,
        "dog_teeth": car.dog_teeth or None,
        "hub": _short(car.hub),
        "reverse_synchronised": car.reverse_synchronised,
    }
    parts = []
    if any(value is not None for value in values.values()):
        parts.append(toml_table("[gearbox]", values))
    if car.learnt_rpm_per_mps:
        learnt = {gear: round(k / _KMH_PER_MPS, 4) for gear, k in car.learnt_rpm_per_mps.items()}
        parts.append(toml_table("[gearbox.learnt_rpm_per_kmh]", learnt))
    return parts


def _short(by_gear: Mapping[str, V]) -> V | Mapping[str, V] | None:
    """One value where all gears share it, else the table; None where there is none."""
    if not by_gear:
        return None
    first = next(iter(by_gear.values()))
    return first if all(value == first for value in by_gear.values()) else by_gear


def _gate(gate: GateLayout) -> dict[str, object]:
    planes = [{"forward": p.forward, "rear": p.rear} for p in gate.planes]
    return {
        "planes": [{key: gear for key, gear in plane.items() if gear} for plane in planes],
        "home": gate.home or "none",
        "lockout": gate.lockout,
        "plane_pitch_mm": gate.plane_pitch_mm,
        "engage_travel_mm": gate.engage_travel_mm,
        "travel_at": gate.travel_at,
        "mm_per_unit": gate.mm_per_unit,
    }
