"""Where let-goes land by a known chance, and how often the interval holds it: ``python -m tests.truth.landing_study``.

Levers that swing, and land in the home plane or in the next one, are measured by the whole chain on cheap drives: a
quick hand, three planes, 50 readings a second. From those let-goes, found or missed and in the plane that was measured,
tests of a known chance are drawn, and each has its interval from the share that the release test publishes.
"""

import argparse
import tempfile
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from shiftlog.guided.shares import share_figure
from shiftlog.pipeline import load_drive, measure_drive
from tests.truth.release_drives import GATES, Hand, ReleaseDrive
from tests.truth.release_levers import STEP_S, Lever
from tests.truth.release_study import match

QUICK = Hand(
    tremor_mm=0.15, sway_mm=0.15, again="middle", pushes=False, hold_s=(0.5, 0.8), waits_s=(0.8, 1.2)
)  # fmt: skip
PITCH_MM = 24.0


class TwoPlaned(Lever):
    """A lever that lands in the home plane, or by the chance ``stays`` in the next one to the right."""

    def run(self, from_mm: float, rng: np.random.Generator) -> np.ndarray:
        rest = PITCH_MM * float(rng.random() < self.stays) + rng.normal(0, 0.5)
        time = np.arange(0, 1.2, STEP_S)
        omega = 2 * np.pi * self.frequency_hz
        root = omega * np.sqrt(1 - self.damping**2)
        left = np.cos(root * time) + self.damping * omega / root * np.sin(root * time)
        return np.clip(rest + (from_mm - rest) * np.exp(-self.damping * omega * time) * left, *self.walls)


def measure_landings(seed: int, folder: Path) -> list[tuple[bool, bool | None]]:
    """The let-goes of one drive: whether it truly landed away from home, and whether measured so, None if missed."""
    drive = ReleaseDrive(
        rng=np.random.default_rng([seed, 808]), gate="3 planes", pitch_mm=PITCH_MM, travel_mm=30.0, hand=QUICK
    )  # fmt: skip
    lever = TwoPlaned(
        manner="two planes", rest_mm=0.0, wander_mm=0.0, band_mm=0.0, stays=0.5, frequency_hz=4.0, damping=0.6,
        speed_mmps=0.0, walls=drive.walls,
    )  # fmt: skip
    drive.tour()
    drive.release(lever, ["right", "left"] * 10)
    result = measure_drive(load_drive(drive.write(folder, rate_hz=50.0, bits=12, noise_mm=0.1)))
    home = GATES["3 planes"][1]
    pairs, _ = match([r for r in result.rests if drive.span[0] <= r.start_s <= drive.span[1]], drive.let_goes)
    told = {id(let_go): rest.plane != home for rest, let_go in pairs}
    return [(let_go.plane != home, told.get(id(let_go))) for let_go in drive.let_goes]


def covers(rng: np.random.Generator, landings: Sequence[tuple[bool, bool | None]], each: int = 20) -> bool:
    """Whether the interval of one test holds the chance that its let-goes were drawn with."""
    chance = rng.uniform(0.02, 0.98)
    by_truth = {away: [told for true, told in landings if true == away] for away in (True, False)}
    drawn = [by_truth[bool(away)] for away in rng.random(each) < chance]
    told = [t for some in drawn if (t := some[rng.integers(len(some))]) is not None]
    share = share_figure("not_home", "not home", sum(told), len(told)).share
    return share is not None and share.low <= chance <= share.high


def main() -> None:
    """Print how the let-goes were told and how many intervals hold the chance."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--drives", type=int, default=20)
    parser.add_argument("--tests", type=int, default=2000)
    parser.add_argument("--first", type=int, default=1)
    args = parser.parse_args()
    landings: list[tuple[bool, bool | None]] = []
    with tempfile.TemporaryDirectory() as folder:
        for seed in range(args.first, args.first + args.drives):
            landings += measure_landings(seed, Path(folder) / str(seed))
            wrong, missed = sum(t is not None and t != w for w, t in landings), sum(t is None for _, t in landings)
            print(f"{len(landings)} let-goes, {missed} missed, {wrong} in the wrong plane", flush=True)
    rng = np.random.default_rng([args.first, 810])
    held = sum(covers(rng, landings) for _ in range(args.tests))
    print(f"{held} of {args.tests} intervals hold the chance ({100 * held / args.tests:.1f} %)")


if __name__ == "__main__":
    main()
