"""Shifts made by hand whose way past the gate's edge is known."""

import numpy as np

from shiftlog.pipeline import load_drive, measure_drive

from .made import PLACES, MadeDrive, Mark, Way, lever_log

DEPTH = 0.12
ORDER = ("1", "2", "3", "4", "5", "4", "3", "2", "1", "3", "5", "3", "1", "2", "4", "5", "2", "1")


def _pass_gate(way: Way, gear: str, off_mm: float, rng: np.random.Generator) -> None:
    """Across to beside the plane, in along its edge, and home as the gate leads."""
    select, engage = PLACES[gear]
    if abs(way.here[1]) > 1:
        way.move((way.here[0], 0.0), 0.12)
    way.move((select + off_mm, 0.0), rng.uniform(0.15, 0.3)).stay(rng.uniform(0.0, 0.1))
    way.move((select + off_mm, 0.3 * engage), 0.06).move((select, 0.6 * engage), 0.06).move((select, engage), 0.06)
    way.stay(0.6)


def _strike(way: Way, gear: str, rng: np.random.Generator) -> None:
    """A push at the wall between two planes that is turned back."""
    select, engage = PLACES[gear]
    way.move((way.here[0], 0.0), 0.12).move((select + rng.choice([-1, 1]) * 10.5, 0.0), 0.2)
    way.move((way.here[0], 0.3 * engage), 0.06).stay(0.08).move((way.here[0], 0.0), 0.06)


def tell_entry(folder, *, bias_mm: float, spread_mm: float, strikes: int = 0, seed: int = 0):
    rng, way = np.random.default_rng([seed, 3]), Way()
    way.stay(1.5)
    marked = rng.choice(len(ORDER) * 2, strikes, replace=False) if strikes else []
    truth: dict[str, list[tuple[float, float]]] = {}
    for k, gear in enumerate(ORDER * 2):
        if k in marked:
            _strike(way, gear, rng)
        off, came = bias_mm + rng.normal(0, spread_mm), float(way.here[0])
        _pass_gate(way, gear, off, rng)
        truth.setdefault(gear, []).append((off, came))
    way.out().stay(1.0)
    marks = [Mark(kind="gate_entry", start_s=0.5, end_s=way.now_s - 0.3)]
    MadeDrive(logs=[lever_log(way.mm, rng)], marks=marks).write(folder)
    return measure_drive(load_drive(folder)).guided[0], truth
