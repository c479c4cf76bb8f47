"""Score the guided tests on made ones with known truth: ``python -m tests.truth.guided_study --tests 20``."""

import argparse
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np

from shiftlog.measure.synchro import SLOPE
from shiftlog.model.guided import GuidedResult
from shiftlog.pipeline import load_drive, measure_drive
from tests.guided.made_cable import Axis, MadeCableDrive
from tests.guided.made_jump_out import GEARS, MadeJumpOut
from tests.guided.made_road import MadeRoad
from tests.guided.made_spin_down import FALLS_IN_RPM, RATIOS, MadeSpinDown
from tests.guided.made_two_ended import MadeTwoEnded
from tests.truth.guided_more import try_bearing_noise, try_detent, try_gate_entry, try_warm_up

Score = tuple[str, float]
"""What was scored, and how it came out: 1 or 0 where it is right or wrong, else the error."""


def measure(folder: Path) -> GuidedResult:
    """The answer of the folder's first marked span."""
    return measure_drive(load_drive(folder)).guided[0]


def try_spin_down(seed: int, folder: Path) -> Iterator[Score]:
    """A third of the clutches drive the shaft on, the others let it coast."""
    rng = np.random.default_rng([seed, 1])
    driven = seed % 3 == 0
    made = MadeSpinDown(
        seed=seed, rate_hz=(1000.0, 1600.0, 3200.0)[seed % 3], stop_when_loud=bool(seed % 2),
        coulomb_rpmps=rng.uniform(50, 250) if driven else rng.uniform(60, 450), tau_s=rng.uniform(0.8, 5.0),
        drive_rpmps=rng.uniform(350, 900) if driven else 0.0, whole_gate=seed % 4 == 1, rings_alike=seed % 5 < 3,
    )  # fmt: skip
    told = measure(made.run(folder))
    quiet, waits = told.figure("quiet_after_s"), np.array(sorted(made.shafts))
    silent = [w for w in waits if made.shafts[w] / RATIOS["R"] < FALLS_IN_RPM]
    found = None if quiet is None else quiet.value
    right = found is None if not silent else found is not None and abs(found - silent[0]) < 0.3
    yield "spin-down: bracket right", float(right)
    yield "spin-down: rest or driven right", float(told.says[0].find("driven" if driven else "comes to rest") > 0)
    yield from _shaft_speeds(told, made)


def _shaft_speeds(told: GuidedResult, made: MadeSpinDown) -> Iterator[Score]:
    """Of every try that grinds: whether its speed is told, and where it is, how far off; so of the plateau."""
    for wait_s, true in made.shafts.items():
        if true / RATIOS["R"] >= FALLS_IN_RPM:
            found = [f.of for f in told.figures if f.key == "waited_s" and abs(f.value - wait_s) < 0.3]
            figure = told.figure("shaft_rpm", found[0]) if found else None
            yield "spin-down: speed of a grinding shaft told", float(figure is not None and figure.value is not None)
            if figure is not None and figure.value is not None:
                yield "spin-down: shaft speed, share", figure.value / true - 1
                yield "spin-down: shaft speed within 5 %", float(abs(figure.value / true - 1) < 0.05)
                yield "spin-down: 95 % interval of shaft speed holds", _within(true, figure.interval95)
    plateau = told.figure("plateau_rpm")
    if made.rests_after_s is None:
        yield "spin-down: plateau's speed told", float(plateau is not None and plateau.value is not None)
        if plateau is not None and plateau.value is not None:
            yield "spin-down: plateau within 5 %", float(abs(plateau.value / made.shaft_rpm(10.0) - 1) < 0.05)


def try_jump_out(seed: int, folder: Path) -> Iterator[Score]:
    """Mounts from firm to torn; a gear walks out in half of the cars, some step out at once, come back, or let go.

    In half of them overrun follows drive at once, as a driver may do it.
    """
    rng = np.random.default_rng([seed, 2])
    walks = {_draw_way(rng): rng.uniform(0.9, 4.0)} if seed % 2 else {}
    jumps = {_draw_way(rng): int(rng.integers(1, 4))} if seed % 4 == 3 else {}
    steps = {_draw_way(rng): rng.uniform(1.5, 4.0)} if seed % 4 == 2 else {}
    comes_back = seed % 5 == 0
    made = MadeJumpOut(
        seed=seed, rock_mm=rng.uniform(-4, 4), creep=rng.uniform(0, 0.25), walks=walks, jumps=jumps,
        steps=steps, comes_back=comes_back, by_card=bool(rng.random() < 0.5), has_throttle=bool(seed % 3),
    )  # fmt: skip
    told = measure(made.run(folder))
    named = [w for w in told.says if w.startswith("Gear ") and not w.endswith("and comes back.")]
    out = jumps if comes_back else walks | jumps | steps
    got = {(words.split()[1], "drive" if "under drive" in words else "overrun") for words in named}
    for gear in GEARS:
        for way in ("drive", "overrun"):
            told_apart = ((gear, way) in got) == ((gear, way) in out)
            yield "jumping out: rock and walking told apart", float(told_apart)
            share = told.figure("jump_outs", f"{gear} {way}").share
            yield "jumping out: k of n right", float((share.k, share.n) == (jumps.get((gear, way), 0), 3))


def _draw_way(rng: np.random.Generator) -> tuple[str, str]:
    return GEARS[int(rng.integers(5))], ("drive", "overrun")[int(rng.integers(2))]


def try_two_ended(seed: int, folder: Path) -> Iterator[Score]:
    """Cables from new to worn out, sensors that lag by up to 10 ms."""
    rng = np.random.default_rng([seed, 3])
    made = MadeTwoEnded(
        seed=seed, backlash_mm=tuple(rng.uniform(0.3, 3, 2)), friction_mm=tuple(rng.uniform(0.1, 2, 2)),
        stretch_mm=rng.uniform(0.5, 3), lag_s=rng.uniform(0, 0.01), noise=rng.uniform(0.5, 3),
        quick=rng.uniform(0.4, 1.2),
    )  # fmt: skip
    told = measure(made.run(folder))
    truth = {
        ("loop_mm", "select"): made.backlash_mm[0] + made.friction_mm[0],
        ("loop_mm", "engage"): made.backlash_mm[1] + made.friction_mm[1],
        ("free_play_mm", "engage"): made.backlash_mm[1], ("stretch_mm", "engage"): made.stretch_mm,
    }  # fmt: skip
    for (key, of), true in truth.items():
        figure = told.figure(key, of)
        yield f"two ends: {key} {of} told", float(figure.value is not None)
        if figure.value is not None:
            yield f"two ends: {key} {of}, mm", figure.value - true


def try_road_ends(seed: int, folder: Path) -> Iterator[Score]:
    """Ordinary shifts on cables made by their forces; a third of them behind detents that outpull friction."""
    rng = np.random.default_rng([seed, 5])
    made = MadeCableDrive(
        seed=seed, sequence=3 * MadeCableDrive.sequence,
        tower_hz=float(rng.choice([150, 200, 250, 400])), late_s=rng.uniform(-0.03, 0.03),
        drift_ppm=rng.uniform(-80, 80), quick=rng.uniform(0.7, 1.6), rock_mm=rng.uniform(0, 1.2),
        engage=Axis(
            play_mm=rng.uniform(0, 3), give_n_per_mm=rng.uniform(18, 50), friction_n=rng.uniform(1, 16),
            detent_n=rng.uniform(4, 18), box_n=rng.uniform(0.5, 4),
        ),
        select=Axis(
            play_mm=rng.uniform(0, 2.5), detent_n=0.0, spring_n_per_mm=rng.uniform(0.2, 0.8),
            friction_n=rng.uniform(1, 10),
        ),
    )  # fmt: skip
    told = measure(made.run(folder))
    truth = {
        ("loop_mm", "engage"): made.engage.loop_mm, ("loop_mm", "select"): made.select.loop_mm,
        ("stretch_mm", "engage"): made.stretch(),
    }  # fmt: skip
    for (key, of), true in truth.items():
        figure = told.figure(key, of)
        yield f"both ends on the road: {key} {of} told", float(figure.value is not None)
        if figure.value is not None:
            yield f"both ends on the road: {key} {of}, mm", figure.value - true
            if figure.interval95:
                yield f"both ends on the road: 95 % interval of {key} {of} holds", _within(true, figure.interval95)


def try_synchroniser(seed: int, folder: Path) -> Iterator[Score]:
    """Cones from new to slow, shafts that coast."""
    rng = np.random.default_rng([seed, 4])
    slow = rng.uniform(0.6, 2.2)
    made = MadeRoad(
        seed=seed, drag_rpmps=rng.uniform(100, 600),
        slopes={gear: slow * usual * rng.uniform(0.8, 1.2) for gear, usual in (("2", 110), ("3", 80), ("4", 60))},
    )  # fmt: skip
    made.synchroniser(each=5)
    told = measure(made.write(folder))
    for gear, way in (("3", "up"), ("2", "down"), ("4", "up"), ("3", "down")):
        figure = told.figure(SLOPE, f"{gear} {way} hot")
        yield "synchroniser: slope told", float(figure is not None and figure.value is not None)
        if figure is not None and figure.value is not None:
            yield "synchroniser: slope, share", figure.value / made.slopes[gear] - 1
            yield "synchroniser: 95 % interval of slope holds", _within(made.slopes[gear], figure.interval95)


def _within(true: float, interval: tuple[float, float]) -> float:
    return float(interval[0] <= true <= interval[1])


KINDS: dict[str, Callable[[int, Path], Iterator[Score]]] = {
    "spin_down": try_spin_down, "jump_out": try_jump_out, "two_ended": try_two_ended, "road_ends": try_road_ends,
    "synchroniser": try_synchroniser, "bearing_noise": try_bearing_noise, "warm_up": try_warm_up,
    "detent": try_detent, "gate_entry": try_gate_entry,
}  # fmt: skip


def run(kind: str, seeds: range) -> dict[str, list[float]]:
    """Every score of a kind, by what was scored."""
    scores: dict[str, list[float]] = {}
    for seed in seeds:
        with tempfile.TemporaryDirectory() as folder:
            for name, value in KINDS[kind](seed, Path(folder) / "drive"):
                scores.setdefault(name, []).append(value)
    return scores


def say(name: str, values: list[float]) -> str:
    """One line: a share of right ones, or median and 95th percentile of the error's size."""
    if name.endswith((", share", ", mm", ", ms", ", dB")):
        sizes = np.abs(values)
        return f"{name}: median {np.median(sizes):.3f}, 95th percentile {np.quantile(sizes, 0.95):.3f} of {len(values)}"
    return f"{name}: {100 * np.mean(values):.1f} % of {len(values)}"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--tests", type=int, default=12)
    parser.add_argument("--first", type=int, default=5000)
    parser.add_argument("--kind", choices=sorted(KINDS), action="append")
    asked = parser.parse_args()
    for kind in asked.kind or KINDS:
        for name, values in run(kind, range(asked.first, asked.first + asked.tests)).items():
            print(say(name, values), flush=True)


if __name__ == "__main__":
    main()
