"""The rules, one after another, and what of them is beyond chance."""

from dataclasses import replace

from shiftlog.compare.cold_stretch import find_cold_stretch
from shiftlog.findings.beside import add_notes
from shiftlog.findings.candidate import Candidate, choose_findings
from shiftlog.findings.cold import find_when_cold
from shiftlog.findings.gears import find_in_all_gears, find_in_one_direction, find_in_one_gear
from shiftlog.findings.knock import find_growing_knock
from shiftlog.findings.pairs import find_unlike_pairs
from shiftlog.findings.trouble import TROUBLES, under_way
from shiftlog.model.car import Car
from shiftlog.model.result import DriveResult, Finding

COUNTING = (find_in_one_gear, find_in_all_gears, find_in_one_direction)
"""Rules that count a trouble: (shifts, trouble, car) → candidates. Each is tried for each trouble."""

MIRRORED = "the same trouble in another gear: nothing told which way the lever's axes run, so gears may be mirrored"


def find_findings(result: DriveResult, car: Car) -> tuple[Finding, ...]:
    """What stands out in a drive beyond chance, the surest first; none in most healthy drives."""
    shifts = under_way(result.shifts)
    ratios = {g: r for g in car.ratios | car.learnt_rpm_per_mps if (r := car.rpm_per_mps(g))}
    candidates: list[Candidate] = [c for trouble in TROUBLES for rule in COUNTING for c in rule(shifts, trouble, car)]
    candidates += [find_when_cold(shifts, trouble, find_cold_stretch(result)) for trouble in TROUBLES]
    candidates += find_growing_knock(shifts, car)
    candidates += find_unlike_pairs(shifts, car, {**result.summary.learnt_rpm_per_mps, **ratios})
    found = tuple(add_notes(finding, result.shifts) for finding in choose_findings(candidates))
    mirrored = result.gate is not None and result.gate.orientation == "assumed"
    return tuple(replace(f, also_looks_like=(*f.also_looks_like, MIRRORED)) for f in found) if mirrored else found
