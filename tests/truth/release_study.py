"""Release tests on levers, hands and sensors of every kind: ``python -m tests.truth.release_study --tests 40``."""

import argparse
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from shiftlog.model.rest import Rest
from shiftlog.model.result import DriveResult
from shiftlog.pipeline import load_drive, measure_drive
from tests.truth.release_drives import GATES, HOMES, Hand, ReleaseDrive, TrueLetGo
from tests.truth.release_levers import MANNERS, Lever, draw_lever

STILL_HANDS = 0.15
"""Of all hands: they press so firmly that nothing trembles."""


@dataclass(frozen=True, kw_only=True)
class Sensor:
    rate_hz: float
    bits: int
    noise_mm: float

    @property
    def least_tremor_mm(self) -> float:
        """A hand that trembles less is not seen to grip a lever in its place: twice the noise between 7 and 13 Hz."""
        return 2 * float(np.hypot(self.noise_mm, 0.04 * 2 ** (10 - self.bits))) * float(np.sqrt(12 / self.rate_hz))


@dataclass(frozen=True, eq=False, kw_only=True)
class Made:
    """A made test, its lever and the sensor that saw it."""

    drive: ReleaseDrive
    lever: Lever
    sensor: Sensor

    def measure(self, folder: Path) -> DriveResult:
        self.drive.write(folder, rate_hz=self.sensor.rate_hz, bits=self.sensor.bits, noise_mm=self.sensor.noise_mm)
        return measure_drive(load_drive(folder))


def draw_made(seed: int, manner: str | None = None) -> Made:
    """A test of any lever: the seed says which."""
    rng = np.random.default_rng([seed, 5150])
    manner = manner or MANNERS[seed % len(MANNERS)]
    still = rng.random() < STILL_HANDS
    sensor = Sensor(
        rate_hz=float(rng.choice([50, 80, 100, 200, 250])), bits=int(rng.integers(10, 15)),
        noise_mm=float(np.exp(rng.uniform(np.log(0.05), np.log(0.5)))),
    )  # fmt: skip
    tremor_mm = 0.0 if still else float(rng.uniform(0.08, 0.3))
    grips = rng.random() < 0.5 and tremor_mm > sensor.least_tremor_mm
    hand = Hand(
        tremor_mm=tremor_mm, sway_mm=0.0 if still else float(rng.uniform(0.1, 0.4)),
        again="grip" if grips else "middle", pushes=bool(rng.random() < 0.4),
    )  # fmt: skip
    drive = ReleaseDrive(
        rng=rng, gate=str(rng.choice(list(GATES))), pitch_mm=float(rng.uniform(20, 28)),
        travel_mm=float(rng.uniform(26, 36)), hand=hand,
    )  # fmt: skip
    lever = draw_lever(rng, manner, drive.planes_mm, drive.walls)
    drive.tour()
    drive.release(lever, _sides(rng))
    return Made(drive=drive, lever=lever, sensor=sensor)


def _sides(rng: np.random.Generator) -> list[str]:
    """Ten to twenty of each, one side after the other, by turns, or in any order."""
    right, left = ["right"] * int(rng.integers(10, 21)), ["left"] * int(rng.integers(10, 21))
    order = rng.integers(3)
    if order == 0:
        return right + left
    if order == 1:
        return ["right", "left"] * min(len(right), len(left))
    return [str(side) for side in rng.permutation(right + left)]


def match(rests: Sequence[Rest], true: Sequence[TrueLetGo]) -> tuple[list[tuple[Rest, TrueLetGo]], int]:
    """Rests with the let-go whose lie they share most time with, one each; and how many rests are left over."""
    pairs, free = [], list(rests)
    for let_go in true:
        shared = [min(r.end_s, let_go.taken_s) - max(r.start_s, let_go.let_go_s) for r in free]
        if shared and max(shared) > 0.3:
            pairs.append((free.pop(int(np.argmax(shared))), let_go))
    return pairs, len(free)


def study(made: Made, folder: Path) -> dict[str, float]:
    """Counts and errors of one test."""
    result, true = made.measure(folder), made.drive.let_goes
    begin, end = made.drive.span
    pairs, spare = match([r for r in result.rests if begin <= r.start_s <= end], true)
    found: dict[str, float] = {
        "let_goes": len(true), "missed": len(true) - len(pairs), "too many": spare,
        "wrong side": sum(r.came_from != t.side for r, t in pairs),
        "wrong plane": sum(r.plane != t.plane and not _between(made.drive, t.rest_mm) for r, t in pairs),
        "called held": sum(r.released is not True for r, _ in pairs),
    }  # fmt: skip
    if pairs:
        found["rest off mm"] = float(np.median([abs(r.select_mm - t.rest_mm) for r, t in pairs]))
        found |= _return_time(pairs)
    return found | _swing(made, pairs) | _guided(made, result)


def _return_time(pairs: Sequence[tuple[Rest, TrueLetGo]]) -> dict[str, float]:
    """Its median error in a test, and how many of so many lie within twice their uncertainty."""
    told = [(v, r.readings["return_time_s"].uncertainty, t) for r, t in pairs if (v := r.value("return_time_s"))]
    off = np.array([[abs(v - (t.settled_s - t.let_go_s)), u] for v, u, t in told])
    if not told:
        return {}
    return {
        "return time off s": float(np.median(off[:, 0])), "return times": len(told),
        "return time within 2 u": int(np.sum(off[:, 0] <= 2 * off[:, 1])),
    }  # fmt: skip


def _between(drive: ReleaseDrive, rest_mm: float) -> bool:
    """Whether it lies so near to the middle between two planes that either is right."""
    apart = np.sort(np.abs(drive.planes_mm - rest_mm))
    return bool(apart[1] - apart[0] < 1.0)


def _swing(made: Made, pairs: Sequence[tuple[Rest, TrueLetGo]]) -> dict[str, float]:
    """Frequency and damping of levers that swing; of the others, how often a swing was told."""
    told = [(f, z) for r, _ in pairs if (f := r.value("frequency_hz")) is not None and (z := r.value("damping"))]
    lever = made.lever
    if lever.manner in ("creeping", "jerking", "stuck"):
        return {"false swing": len(told), "no swing there": len(pairs)}
    if lever.manner == "dragging" or lever.damping > 0.7 or not told:
        return {}
    frequency, damping = np.median(np.array(told), axis=0)
    return {"frequency off": abs(frequency / lever.frequency_hz - 1), "damping off": abs(damping - lever.damping)}


def _guided(made: Made, result: DriveResult) -> dict[str, float]:
    drive, found = made.drive, {}
    by_kind = {g.kind: g for g in result.guided}
    rests = {side: [t.rest_mm for t in drive.let_goes if t.side == side] for side in ("right", "left")}
    release = by_kind["release"]
    if release.figures and (told := release.figure("hysteresis_mm").value) is not None and made.lever.stays in (0, 1):
        found["hysteresis off mm"] = abs(told - float(np.median(rests["right"]) - np.median(rests["left"])))
    if release.figures and (share := release.figure("not_home").share):
        home = GATES[drive.gate][HOMES[drive.gate]]
        found["away off"] = abs(share.k - sum(t.plane != home for t in drive.let_goes))
    if drive.hand.pushes:
        push, gears = by_kind["straight_push"], [t.gear for t in drive.let_goes if t.gear]
        told = {f.of: f.share.k for f in push.figures if f.key == "found" and f.share and f.share.k}
        found["push wrong"] = sum(abs(told.get(g, 0) - gears.count(g)) for g in {*told, *gears} if g != "no gear")
    return found


def main() -> None:
    """Print every figure by the kind of lever."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--tests", type=int, default=40)
    parser.add_argument("--first", type=int, default=3000)
    parser.add_argument("--manner", choices=MANNERS)
    parser.add_argument("--each", action="store_true", help="a line for each test")
    args = parser.parse_args()
    rows: dict[str, dict[str, list[float]]] = {}
    with tempfile.TemporaryDirectory() as folder:
        for seed in range(args.first, args.first + args.tests):
            made = draw_made(seed, args.manner)
            told = study(made, Path(folder) / str(seed))
            if args.each:
                print(seed, made.lever.manner, made.drive.hand, made.sensor, {k: round(v, 3) for k, v in told.items()})
            for name in (made.lever.manner, "all"):
                for key, value in told.items():
                    rows.setdefault(name, {}).setdefault(key, []).append(value)
    for name, figures in rows.items():
        for key, values in figures.items():
            print(
                f"{name:10} {key:18} tests {len(values):3} sum {sum(values):9.2f} median {np.median(values):8.4f} "
                f"p95 {np.quantile(values, 0.95):8.4f} most {max(values):8.4f}", flush=True,
            )  # fmt: skip


if __name__ == "__main__":
    main()
