"""How well changes of gear are found from engine and vehicle speed that a dongle polls nine times a second.

    python -m tests.truth.polled_study --drives 24

The truth is what the drive can show: a gear in which the clutch never closed (a hand that caught the wrong gear and
went on) counts as one change with the next, and journeys to or from neutral are left to the lever.
"""

import argparse
from collections import Counter
from collections.abc import Iterator

import numpy as np

from shiftlog.model.car import NEUTRAL
from shiftlog.model.shift import Shift
from shiftlog.pipeline import measure_drive
from shiftlog.synth.cars import CARS
from shiftlog.synth.recorder import Sensors
from shiftlog.synth.scenario import SynthDrive, make_drive
from tests.truth.driven_changes import join_undriven
from tests.truth.matching import match_shifts

UNFINISHED = ("missed", "out_and_back")


def make_polled(seed: int, *, minutes: float = 4.0) -> SynthDrive:
    """A drive with nothing but a dongle: 9 Hz, speed late by up to 0.4 s and often in whole km/h, no clutch switch."""
    rng = np.random.default_rng([seed, 9])
    sensors = Sensors(
        lever_rate_hz=None, gearbox_rate_hz=None, body_rate_hz=None, bus_rate_hz=9.0, jitter_s=0.005,
        whole_kmh=bool(rng.random() < 0.5), speed_lag_s=float(rng.choice([0.0, 0.2, 0.4])), clutch_switch=False,
    )  # fmt: skip
    health = ("healthy", "worn", "sick")[(seed // 2) % 3]
    car, road = list(CARS)[seed % len(CARS)], ("smooth", "rough")[seed % 2]
    return make_drive(car=car, seed=seed, road=road, health=health, minutes=minutes, sensors=sensors)


def find_driven_changes(drive: SynthDrive) -> list[Shift]:
    """True changes of gear under way, from one gear that drove to the next."""
    changes = join_undriven(drive, [shift for shift in drive.truth.shifts if not shift.standing])
    return [c for c in changes if c.from_gear != c.to_gear and c.outcome not in UNFINISHED and _geared(c)]


def _geared(shift: Shift) -> bool:
    return None not in (shift.from_gear, shift.to_gear) and NEUTRAL not in (shift.from_gear, shift.to_gear)


def study(seeds: range) -> tuple[Counter[str], list[str]]:
    """Counts of changes true, found, with the gears right, and invented; a line for each that is wrong."""
    counts: Counter[str] = Counter()
    lines: list[str] = []
    for seed in seeds:
        drive = make_polled(seed)
        true, found = find_driven_changes(drive), measure_drive(drive.as_drive()).shifts
        pairs = match_shifts(true, found)
        counts.update({"true": len(true), "found": len(pairs)})
        lines += [f"missing {seed} {_told(true[k])}" for k in sorted(set(range(len(true))) - {t for t, _ in pairs})]
        for t, f in pairs:
            right = (true[t].from_gear, true[t].to_gear) == (found[f].from_gear, found[f].to_gear)
            counts["gears right"] += right
            lines += [] if right else [f"wrong {seed} {_told(true[t])} found {_told(found[f])}"]
        invented = list(_invented(drive, found, {f for _, f in pairs}))
        counts["invented"] += len(invented)
        lines += [f"invented {seed} {_told(shift)}" for shift in invented]
    return counts, lines


def _invented(drive: SynthDrive, found: tuple[Shift, ...], matched: set[int]) -> Iterator[Shift]:
    """Changes between two gears with no journey of the lever anywhere near."""
    for index, shift in enumerate(found):
        near = any(abs(true.start_s - shift.start_s) < 1.0 for true in drive.truth.shifts)
        if index not in matched and _geared(shift) and not near:
            yield shift


def _told(shift: Shift) -> str:
    return f"{shift.from_gear}-{shift.to_gear} at {shift.start_s:.2f} s"


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--drives", type=int, default=24)
    parser.add_argument("--first-seed", type=int, default=3000)
    args = parser.parse_args()
    counted, told = study(range(args.first_seed, args.first_seed + args.drives))
    print(*told, sep="\n")
    print(", ".join(f"{name} {counted[name]}" for name in ("true", "found", "gears right", "invented")))
