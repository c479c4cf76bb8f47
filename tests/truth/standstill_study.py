"""Made guided tests by the dozen against their truth: ``python -m tests.truth.standstill_study --tests 60``."""

import argparse
import tempfile
from collections import Counter
from pathlib import Path

import numpy as np

from shiftlog.model.guided import GuidedResult
from shiftlog.pipeline import load_drive, measure_drive
from tests.guided.made_checks import draw_lockout, draw_play, draw_push
from tests.guided.made_lever import LAYOUTS, MadeLever, Spring
from tests.guided.made_release import MadeRelease, draw_release

KINDS = ("release", "swing", "push", "lockout", "play")


def answer(lever: MadeLever, folder: Path, **more) -> GuidedResult:
    """What the first marked span says, by the whole chain."""
    return measure_drive(load_drive(lever.write(folder, **more))).guided[0]


def study_release(seed: int, folder: Path) -> dict[str, float]:
    """Counts of one release test: let-goes missed or too many, share covered, hysteresis."""
    made = draw_release(seed)
    told = answer(made.make(), folder)
    away, no_motion = told.figure("not_home").share, told.figure("no_motion").share
    truly = sum(g.plane != LAYOUTS[made.layout][1] for g in made.let_goes)
    unmoved = sum(abs(g.rest_mm - g.held_mm) < 3 for g in made.let_goes)
    found = {
        "let_goes": len(made.let_goes), "off_by": abs(away.n - len(made.let_goes)),
        "share_covered": float(away.low <= truly / len(made.let_goes) <= away.high),
        "unmoved": unmoved, "unmoved_lost": max(unmoved - no_motion.k, 0),
        "released_right": float(no_motion.k == unmoved and no_motion.n == len(made.let_goes)),
    }  # fmt: skip
    apart = told.figure("hysteresis_mm")
    if apart.value is not None and len({g.side for g in made.let_goes}) == 2:
        name = "hysteresis_mm" if made.stick in (0.0, 1.0) else "hysteresis_of_some_stuck_mm"
        found[name] = abs(apart.value - made.true_hysteresis())
    return found


def study_swing(seed: int, folder: Path) -> dict[str, float]:
    """Frequency and damping of levers that swing through dry friction."""
    rng = np.random.default_rng([seed, 9])
    spring = Spring(
        centre_mm=float(rng.uniform(-2, 2)), frequency_hz=float(rng.uniform(2, 8)),
        damping=float(rng.uniform(0.1, 0.7)), friction_mm=float(rng.uniform(0, 2)),
    )  # fmt: skip
    layout = ("five", "six", "dogleg", "seven")[seed % 4]
    told = answer(MadeRelease(seed=seed, layout=layout, each=3, spring=spring, by_turns=True).make(), folder)
    frequency, damping = told.figure("frequency_hz").value, told.figure("damping").value
    if frequency is None:
        return {"swing_not_seen": 1.0}
    return {
        "swing_not_seen": 0.0, "frequency_share": abs(frequency / spring.frequency_hz - 1),
        "damping": abs(damping - spring.damping),
    }  # fmt: skip


def study_push(seed: int, folder: Path) -> dict[str, float]:
    """Gears found, right in every push or not."""
    made = draw_push(seed)
    told = answer(made.make(), folder)
    true = Counter(gear for _, gear in made.found if gear)
    if not told.figures:
        return {"push_tests_right": float(not true)}
    found = {f.of: f.share.k for f in told.figures if f.key == "found" and f.share and f.share.k}
    return {"push_tests_right": float(found == dict(true)), "pushes": float(true.total())}


def study_lockout(seed: int, folder: Path) -> dict[str, float]:
    """Held k of n, right or not, and the greatest reach."""
    made = draw_lockout(seed)
    told = answer(made.make(), folder)
    share = told.figure("held").share
    found = {"lockout_right": float((share.k, share.n) == (sum(made.held), len(made.held)))}
    left = [mm for mm, held in zip(made.left_mm, made.held, strict=True) if held]
    if left and told.figure("nearest_mm").value is not None:
        found["nearest_mm"] = abs(told.figure("nearest_mm").value - min(left))
    return found


def study_play(seed: int, folder: Path) -> dict[str, float]:
    """Free play and give, the greatest error over the gears that were tried."""
    made = draw_play(seed)
    lever = made.make()
    told = answer(lever, folder, absolute=made.absolute, force=made.logged_force(lever))
    values = [told.figure("free_play_mm", gear).value for gear in made.gears]
    gives = [v for gear in made.gears if (v := told.figure("give_mm_per_n", gear).value) is not None]
    found = {"play_not_seen": float(None in values)}
    known = [abs(v - made.play_mm) for v in values if v is not None]
    return found | ({"play_mm": max(known)} if known else {}) | (
        {"give_share": max(abs(v / made.give - 1) for v in gives)} if gives else {}
    )  # fmt: skip


STUDIES = dict(zip(KINDS, (study_release, study_swing, study_push, study_lockout, study_play), strict=True))


def main() -> None:
    """Print mean, median, 95th percentile and greatest of every figure."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--tests", type=int, default=60)
    parser.add_argument("--first", type=int, default=1000)
    parser.add_argument("--kinds", nargs="+", choices=KINDS, default=KINDS)
    parser.add_argument("--misses", metavar="FIGURE", help="print the seeds that are furthest off in it")
    args = parser.parse_args()
    for kind in args.kinds:
        rows: dict[str, list[tuple[float, int]]] = {}
        with tempfile.TemporaryDirectory() as folder:
            for seed in range(args.first, args.first + args.tests):
                for key, value in STUDIES[kind](seed, Path(folder) / str(seed)).items():
                    rows.setdefault(key, []).append((float(value), seed))
        for key, pairs in rows.items():
            values = np.array([value for value, _ in pairs])
            print(
                f"{kind:8} {key:28} n {values.size:4} sum {values.sum():8.2f} mean {values.mean():8.4f} median "
                f"{np.median(values):8.4f} p95 {np.quantile(values, 0.95):8.4f} most {values.max():8.4f}",
                flush=True,
            )
            if key == args.misses:
                print("   ", sorted(pairs)[:8], sorted(pairs)[-8:])


if __name__ == "__main__":
    main()
