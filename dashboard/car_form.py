"""The form of a car's profile, as plain texts and numbers, to a Car and back."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from shiftlog.errors import ProfileError
from shiftlog.ingest.tyre import rolling_radius_m
from shiftlog.model.car import Car, GateLayout, Plane

GEARS = ("1", "2", "3", "4", "5", "6", "7", "R")
MOST_PLANES = 5
NO_HOME = "none"
Pairs = tuple[tuple[str, str], ...]
LAYOUTS: Mapping[str, Pairs] = {
    "4 gears, R left": (("R", ""), ("1", "2"), ("3", "4")),
    "5 gears, R with 5": (("1", "2"), ("3", "4"), ("5", "R")),
    "5 gears, R left": (("R", ""), ("1", "2"), ("3", "4"), ("5", "")),
    "5 gears, dog-leg": (("R", "1"), ("2", "3"), ("4", "5")),
    "6 gears, R left": (("R", ""), ("1", "2"), ("3", "4"), ("5", "6")),
    "6 gears, R right": (("1", "2"), ("3", "4"), ("5", "6"), ("", "R")),
    "7 gears, R left": (("R", ""), ("1", "2"), ("3", "4"), ("5", "6"), ("7", "")),
}
"""Layouts that many gearboxes share, forward gear first, planes from left to right (common practice, no source)."""


@dataclass(frozen=True, kw_only=True)
class CarForm:
    """What stands in the fields. ratios : by gear, only those filled in; learnt : to be kept in the profile"""

    name: str
    planes: Pairs
    home: str = NO_HOME
    redline_rpm: float | None = None
    final_drive: float | None = None
    ratios: Mapping[str, float] | None = None
    tyre: str = ""
    radius_m: float | None = None
    learnt: Mapping[str, float] | None = None


def read_fields(fields: Mapping[str, object], *, learnt: Mapping[str, float] | None = None) -> CarForm:
    """The form as it was typed. ProfileError names the field that holds no number."""
    ratios = {gear: _number(f"ratio of {gear}", text) for gear, text in fields["ratios"].items()}
    return CarForm(
        name=fields["name"],
        planes=fields["planes"],
        home=fields["home"],
        redline_rpm=_number("redline", fields["redline"]),
        final_drive=_number("final drive", fields["final"]),
        ratios={gear: value for gear, value in ratios.items() if value is not None},
        tyre=fields["tyre"],
        radius_m=_number("rolling radius", fields["radius"]),
        learnt=learnt,
    )


def _number(name: str, text: str | None) -> float | None:
    """A typed number with a decimal point or comma; None where the field is empty."""
    if not (text or "").strip():
        return None
    try:
        value = float(text.strip().replace(",", "."))
    except ValueError:
        value = -1.0
    if not 0 < value < float("inf"):
        raise ProfileError(f'{name}: "{text.strip()}" is no number above zero; write it as 4.1')
    return value


def plane_names(planes: Pairs) -> list[str]:
    """Names of the planes that hold a gear, left to right."""
    return [name for name in ("-".join(g for g in pair if g) for pair in planes) if name]


def form_to_car(form: CarForm, *, base: Car | None = None) -> Car:
    """The car of a form; what the form has no field for stays as in ``base``. ProfileError, one line."""
    if not form.name.strip():
        raise ProfileError("name: is empty; give the car a name, such as its plate or its job number")
    radius = form.radius_m
    if radius is None and form.tyre.strip():
        radius = rolling_radius_m(form.tyre)
        if radius is None:
            raise ProfileError(f'tyre: "{form.tyre}" is no tyre size; write it as "205/50R15"')
    gears = [g for pair in form.planes for g in pair if g]
    fields = {
        "name": form.name.strip(),
        "gate": _gate(form, base),
        "redline_rpm": form.redline_rpm,
        "ratios": dict(form.ratios or {}),
        "final_drive": _final(form.final_drive, gears, base),
        "rolling_radius_m": radius,
    }
    if form.learnt:
        fields["learnt_rpm_per_mps"] = {g: v for g, v in form.learnt.items() if g in gears}
    return replace(base, **fields) if base else Car(**fields)


def _gate(form: CarForm, base: Car | None) -> GateLayout:
    planes = tuple(Plane(forward=f or None, rear=r or None) for f, r in form.planes if f or r)
    home = None if form.home in (NO_HOME, "") else form.home
    if base is not None and base.gate is not None:
        return replace(base.gate, planes=planes, home=home)
    return GateLayout(planes=planes, home=home)


def _final(final: float | None, gears: list[str], base: Car | None) -> dict[str, float]:
    """One final drive for all gears; a table by gear that the form shows as empty stays."""
    if final is not None:
        return dict.fromkeys(gears, final)
    several = len(set(base.final_drive.values())) > 1 if base else False
    return {g: v for g, v in base.final_drive.items() if g in gears} if several and base else {}


def car_to_form(car: Car) -> CarForm:
    """What the fields of a known car hold."""
    planes = tuple((p.forward or "", p.rear or "") for p in car.gate.planes) if car.gate else ()
    finals = set(car.final_drive.values())
    return CarForm(
        name=car.name,
        planes=planes,
        home=(car.gate.home if car.gate else None) or NO_HOME,
        redline_rpm=car.redline_rpm,
        final_drive=finals.pop() if len(finals) == 1 else None,
        ratios=dict(car.ratios),
        radius_m=car.rolling_radius_m,
    )


def ratio_differences(car: Car, learnt: Mapping[str, float]) -> dict[str, float]:
    """How far a drive's engine speed over vehicle speed lies from the profile's, by gear, as a share."""
    known = {gear: car.rpm_per_mps(gear) for gear in learnt}
    return {gear: learnt[gear] / value - 1 for gear, value in known.items() if value}
