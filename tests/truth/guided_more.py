"""Further kinds of guided test, truth against told: noise, warmth, detents, gate entry."""

from collections.abc import Iterator
from pathlib import Path

import numpy as np

from shiftlog.pipeline import load_drive, measure_drive
from tests.guided.made import PITCH_MM, PLACES
from tests.guided.made_detent import GEARS, tell_detent
from tests.guided.made_entry import tell_entry
from tests.guided.made_noise import STATES, tell_idle, tell_road
from tests.guided.made_road import MadeRoad

Score = tuple[str, float]
POINTS = {"clutch up": "inside", "clutch down": "outside"}


def try_bearing_noise(seed: int, folder: Path) -> Iterator[Score]:
    """A bearing loud with the clutch up or down, or none, in a band of its own; one gear that whines, or none."""
    rng = np.random.default_rng([seed, 11])
    state = (None, "clutch up", "clutch down")[seed % 3]
    low = rng.uniform(320, 500)
    size = float(rng.uniform(0.5, 1.5))
    # A touch of the pedal leaves the shaft turning with the engine: what is loud with the clutch up is loud then.
    loud = {} if state is None else {state: size} | ({"just touched": size} if state == "clutch up" else {})
    told = tell_idle(folder, loud=loud, band=(low, low * rng.uniform(1.2, 1.5)), seed=seed)
    places = {place for place, _ in told.points_to}
    yield "bearing noise: louder state told, or none", float(places == ({POINTS[state]} if state else set()))
    if state:
        other = next(s for s in STATES if s not in loud)
        a, b = (told.figure("level_db", f"{s}, 300 to 800 Hz").value for s in (state, other))
        # Its own power on top of what the band holds without it.
        yield "bearing noise: level, dB", (a - b) - 10 * np.log10(1 + loud[state] ** 2 / 10 ** (b / 10))
    yield from _try_tones(rng, seed, folder.with_name("road"))


def _try_tones(rng: np.random.Generator, seed: int, folder: Path) -> Iterator[Score]:
    # At 3,200 rpm a recorder of 3,200 Hz hears no more than 23 teeth.
    counts = rng.choice(np.arange(11, 23), 3, replace=False)
    teeth = {gear: int(n) for gear, n in zip(("2", "3", "4"), counts, strict=True)}
    usual, worst = rng.uniform(0.3, 0.5), ("2", "3", "4")[seed % 3] if seed % 2 else None
    sizes = {gear: usual * (rng.uniform(3, 6) if gear == worst else rng.uniform(0.9, 1.1)) for gear in teeth}
    told = tell_road(folder, teeth=teeth, sizes=sizes, seed=seed)
    for gear, count in teeth.items():
        order, size = told.figure("tone_order", f"{gear} drive"), told.figure("tone_mps2", f"{gear} drive")
        yield (
            "bearing noise: mesh of a gear found by its teeth",
            float(order is not None and abs(order.value - count) < 0.06),
        )
        if order is not None and abs(order.value - count) < 0.06:
            yield "bearing noise: amplitude of the mesh, share", size.value / sizes[gear] - 1
    named = {words.split()[1].rstrip(",") for words in told.says if words.startswith("Gear ")}
    yield "bearing noise: gear that whines told, or none", float(named == ({worst} if worst else set()))


def try_warm_up(seed: int, folder: Path) -> Iterator[Score]:
    """Cones that are slower cold, or alike; gears that refuse when hot, or never."""
    rng = np.random.default_rng([seed, 12])
    slower = (1.0, rng.uniform(1.5, 2.5))[seed % 2]
    made = MadeRoad(seed=seed, scatter=0.1)
    made.warm_up("cold", longer=slower)
    made.cruise(60.0)
    made.warm_up("hot")
    cold, hot = measure_drive(load_drive(made.write(folder))).guided
    for kind in ("1-2", "3-2"):
        change = hot.figure("stand_change_ms", kind)
        yield "warm-up: change told", float(change is not None)
        sides = [one.figure("stand_ms", f"{kind} {state}") for one, state in ((cold, "cold"), (hot, "hot"))]
        said = next((words for words in hot.says if words.startswith(kind)), "")
        right = ("worse cold" in said) if slower > 1 else ("no more than chance" in said)
        yield "warm-up: worse cold, or no change, told right", float(right)
        if slower > 1 and all(side.value for side in sides):
            true = made.stood_ms[kind, "cold"], made.stood_ms[kind, "hot"]
            gap = (sides[1].value - sides[0].value) - (np.median(true[1]) - np.median(true[0]))
            yield "warm-up: change of the stand, ms", gap


def try_detent(seed: int, folder: Path) -> Iterator[Score]:
    """Detents that pull from a depth of their own; in a third of the gearboxes one is stuck."""
    rng = np.random.default_rng([seed, 13])
    truth = {gear: float(rng.uniform(0.3, 0.7)) for gear in GEARS}
    stuck = GEARS[int(rng.integers(5))] if seed % 3 == 0 else None
    truth.pop(stuck, None)
    told, speeds = tell_detent(folder, from_depth=truth, seed=seed, pull=float(rng.uniform(1500, 5000)))
    named = {words.split()[1] for _, words in told.points_to}
    yield "detent: stuck one told, or none", float(named == ({stuck} if stuck else set()))
    for gear, depth in truth.items():
        low, high = told.figure("runs_in_from", gear).interval95 or (np.nan, np.nan)
        yield "detent: depth within its bracket", float(low - 0.03 <= depth <= high + 0.03)
        speed = told.figure("run_in_mmps", gear)
        if speed.value is not None:
            yield "detent: speed, share", speed.value / float(np.median(speeds[gear])) - 1


def try_gate_entry(seed: int, folder: Path) -> Iterator[Score]:
    """Hands and gates that enter off the middle, and pushes that strike the wall."""
    rng = np.random.default_rng([seed, 14])
    bias, strikes = float(rng.uniform(-4, 4)), int(rng.integers(0, 7))
    told, truth = tell_entry(folder, bias_mm=bias, spread_mm=float(rng.uniform(0.2, 0.8)), strikes=strikes, seed=seed)
    for gear, entries in truth.items():
        for words, sign in (("from the left", 1), ("from the right", -1), ("straight", 0)):
            offs = [off for off, came in entries if _side(PLACES[gear][0] + off - came) == sign]
            figure = told.figure("entry_offset_mm", f"{gear} {words}")
            if offs and figure is not None and figure.value is not None:
                yield "gate entry: offset, mm", figure.value - float(np.median(offs))
    share = told.figure("strikes").share
    yield "gate entry: strikes counted right", float(share.k == strikes)


def _side(moved_mm: float) -> int:
    """1 to the right, -1 to the left, 0 where the lever hardly moved across, a quarter of the pitch."""
    return 0 if abs(moved_mm) < PITCH_MM / 4 else int(np.sign(moved_mm))
