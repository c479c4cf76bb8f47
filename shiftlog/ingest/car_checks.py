"""What must hold between the entries of a car's profile."""

from collections.abc import Iterable

from shiftlog.ingest.car_models import GEARS, CarToml, Gate
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
    return faults + _ratio_faults(box.ratios)


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
    known = gears | ({"default"} if key.endswith(("final_drive", "hub")) else set())
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
