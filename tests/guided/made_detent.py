"""Let-goes at stepped depths made by hand: a spring that takes the lever in from a known depth."""

import numpy as np

from shiftlog.pipeline import load_drive, measure_drive

from .made import LEVER_HZ, PLACES, MadeDrive, Mark, Way, lever_log

GEARS = ("1", "2", "3", "4", "5")


def _run_in(way: Way, gear: str, pull_mmps2: float) -> float:
    """The spring takes it home against its stop, ever faster; → its speed there [mm/s]."""
    select, engage = PLACES[gear]
    start, side = way.here[1], np.sign(engage)
    left = abs(engage - start)
    lasts_s = np.sqrt(2 * left / pull_mmps2)
    time_s = np.arange(1, int(lasts_s * LEVER_HZ) + 1) / LEVER_HZ
    way.add(np.column_stack([np.full(time_s.size, select), start + side * pull_mmps2 * time_s**2 / 2]))
    way.add(np.array([[select, engage]]))
    return float(pull_mmps2 * lasts_s)


def tell_detent(folder, *, from_depth: dict[str, float], seed: int, pull: float = 3000.0):
    rng, way = np.random.default_rng([seed, 7]), Way()
    speeds: dict[str, list[float]] = {}
    way.stay(1.0)
    for gear in GEARS:
        way.into(gear, in_s=0.3).stay(1.0)
    way.out().stay(1.0)
    start_s = way.now_s
    for gear in GEARS:
        select, engage = PLACES[gear]
        way.move((select, 0.0), 0.3)
        for depth in np.arange(0.2, 0.86, 0.08):
            way.move((select, depth * engage), 0.35).stay(0.6)
            if depth + rng.normal(0, 0.01) > from_depth.get(gear, 2.0):
                speeds.setdefault(gear, []).append(_run_in(way, gear, pull))
                way.stay(0.6)
            elif rng.uniform() < 0.5:
                way.stay(0.4)
            way.move((select, 0.0), 0.4).stay(0.3)
        way.move((select, engage), 0.5).stay(0.6).out().stay(0.4)
    marks = [Mark(kind="detent", start_s=start_s, end_s=way.now_s - 0.2)]
    MadeDrive(logs=[lever_log(way.mm, rng)], marks=marks).write(folder)
    return measure_drive(load_drive(folder)).guided[0], speeds
