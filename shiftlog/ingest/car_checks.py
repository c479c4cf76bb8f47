"""What must hold between the entries of a car's profile."""

import math
from collections.abc import Iterable

from shiftlog.ingest.car_models import GEARS, Cables, CarToml, Gate
from shiftlog.ingest.tyre import free_diameter_m


def find_car_faults(profile: CarToml) -> list[str]:
    """Every fault of a profile, each with its key; an empty list where all is well."""
    faults = _gate_faults(profile.gate) if profile.gate else []
    gears = set(gate_gears(profile.gate)) if profile.gate else set(GEARS)
    box = profile.gearbox
    tables = {
        "ratios": box.ratios,
        "final_drive": box.final_drive,
        "dog_teeth": box.dog_teeth,
        "hub": box.hub,
        "learnt_rpm_per_kmh": box.learnt_rpm_per_kmh,
    }
    for name, table in tables.items():
        if isinstance(table, dict):
            faults += _gear_faults(f"gearbox.{name}", table, gears, has_gate=profile.gate is not None)
    size = profile.tyre.size
    if size is not None and free_diameter_m(size) is None:
        faults.append(f'tyre.size: "{size}" is no tyre size; write it as "205/50R15"')
    faults += _limit_faults(profile, gears)
    return faults + _ratio_faults(box.ratios) + _clearance_faults(profile) + _range_faults(profile.cables)


def gate_gears(gate: Gate | None) -> list[str]:
    """All gears of the gate, plane by plane, forward first."""
    planes = gate.planes if gate else []
    return [gear for plane in planes for gear in (plane.forward, plane.rear) if gear]


def plane_name(forward: str | None, rear: str | None) -> str:
    """The name of a plane: its gears, forward first."""
    return "-".join(gear for gear in (forward, rear) if gear)


def _gate_faults(gate: Gate) -> list[str]:
    gears = gate_gears(gate)
    faults = [
        f'gate.planes: "{g}" is no gear; gears are {", ".join(GEARS)}' for g in dict.fromkeys(gears) if g not in GEARS
    ]
    faults += [f'gate.planes: gear "{g}" is there twice' for g in dict.fromkeys(gears) if gears.count(g) > 1]
    names = [plane_name(p.forward, p.rear) for p in gate.planes]
    faults += [f"gate.planes[{i}]: has neither forward nor rear" for i, n in enumerate(names, 1) if not n]
    if len(gears) < 2:
        faults.append("gate.planes: a gate has at least two gears")
    if gate.home not in (None, "none", *names):
        faults.append(f'gate.home: "{gate.home}" is none of the planes; they are {", ".join(names)}, or "none"')
    return faults


def _gear_faults(key: str, table: Iterable[str], gears: set[str], *, has_gate: bool) -> list[str]:
    known = gears | ({"default"} if key.endswith(("final_drive", "hub")) or key.startswith("limits.") else set())
    where = "the gate lacks this gear" if has_gate else f"gears are {', '.join(GEARS)}"
    return [f'{key}."{gear}": {where}' for gear in table if gear not in known]


def _ratio_faults(ratios: dict[str, float]) -> list[str]:
    forward = [gear for gear in GEARS if gear in ratios and gear != "R"]
    pairs = zip(forward, forward[1:], strict=False)
    return [
        f'gearbox.ratios: "{high}" ({ratios[high]:g}) must be smaller than "{low}" ({ratios[low]:g})'
        for low, high in pairs
        if ratios[high] >= ratios[low]
    ]


def _limit_faults(profile: CarToml, gears: set[str]) -> list[str]:
    faults = []
    for name, limit in profile.limits.items():
        each = limit if isinstance(limit, dict) else {}
        faults += _gear_faults(f"limits.{name}", each, gears, has_gate=profile.gate is not None)
        if not all(math.isfinite(value) for value in each.values() or [limit]):
            faults.append(f"limits.{name}: give a finite number, got {limit}")
    return faults


def _clearance_faults(profile: CarToml) -> list[str]:
    """A clearance that is wanted lies between none and half the travel of the gate."""
    wanted = profile.limits.get("clearance_mm")
    if wanted is None:
        return []
    most = (profile.gate or Gate(planes=[])).engage_travel_mm / 2
    each = {f'."{gear}"': mm for gear, mm in wanted.items()} if isinstance(wanted, dict) else {"": wanted}
    return [
        f"limits.clearance_mm{key}: {mm:g} is no clearance; give 0 to {most:g} mm, half of gate.engage_travel_mm"
        for key, mm in each.items()
        if math.isfinite(mm) and not 0 <= mm <= most
    ]


def _range_faults(cables: Cables | None) -> list[str]:
    """How far a cable can be moved from where it stands: not beyond either end, so 0 lies between them."""
    ranges = {} if cables is None else {"engage": cables.engage_range_mm, "select": cables.select_range_mm}
    return [
        f"cables.{name}_range_mm: [{ends[0]:g}, {ends[1]:g}] is no range about where the cable stands; give how "
        "far it can move the lever rearward or to the left, with a minus, then forward or to the right, as [-4, 4]"
        for name, ends in ranges.items()
        if ends and not ends[0] <= 0 <= ends[1]
    ]
