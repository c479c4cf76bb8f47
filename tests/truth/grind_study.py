"""Grinds against truth on a gearbox made apart from the synthesiser.

``python -m tests.truth.grind_study --drives 20``. Every other drive on a rough road with holes, some of them met while
a gear goes in, and now and then a rattling trim.
"""

import argparse
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from multiprocessing import Pool

import numpy as np

from shiftlog.measure.grind import prepare_grind
from tests.truth.grind_drives import BOXES, ROADS, make_grind_drive
from tests.truth.grind_truth import TrueGrind

FAINT_DB = 6.0
"""Of a clash that never stands so far over the background no window counts as a burst, by definition."""
HEARD_SHARE = 0.4


@dataclass(eq=False, kw_only=True)
class GrindStudy:
    """Counts by road, kind and answer; errors of levels and durations, whether their intervals held the truth."""

    counts: Counter[str] = field(default_factory=Counter)
    errors: dict[str, list[float]] = field(default_factory=dict)
    held: dict[str, list[bool]] = field(default_factory=dict)
    matches: list[float] = field(default_factory=list)
    misses: list[str] = field(default_factory=list)

    def add(self, other: "GrindStudy") -> None:
        """Take another study in."""
        self.counts += other.counts
        self.misses += other.misses
        self.matches += other.matches
        for mine, theirs in ((self.errors, other.errors), (self.held, other.held)):
            for key, values in theirs.items():
                mine.setdefault(key, []).extend(values)

    def share(self, kind: str, said: str) -> float:
        """Of a kind of shift, how many got an answer."""
        return self.counts[f"{kind}: {said}"] / max(self.counts[kind], 1)


def study_drive(case: tuple[int, str, float, tuple[str, ...], str]) -> GrindStudy:
    """One drive: seed, road, minutes, fields of its signals that were not logged, and which gearbox."""
    seed, road, minutes, without, box = case
    drive, study = make_grind_drive(seed, road=road, minutes=minutes, box=box), GrindStudy()
    signals = replace(drive.scene.signals, **dict.fromkeys(without))
    family = prepare_grind(replace(drive.scene, signals=signals))
    top_hz = HEARD_SHARE * drive.scene.signals.accel["gearbox"].rate_hz
    for shift in drive.scene.shifts:
        true = drive.truths[shift.number]
        readings = {r.key: r for r in family(shift)}
        kind = f"{_kind(true, top_hz)}, {'standing' if shift.standing else road}"
        said = {True: "found", False: "denied", None: "open"}[readings["grind"].value]
        study.counts[kind] += 1
        study.counts[f"{kind}: {said}"] += 1
        if said != ("found" if true.clashed else "denied"):
            study.misses.append(
                f"{kind} seed {seed} shift {shift.number} {shift.outcome} {said}: level {true.level_db:.1f} dB, "
                f"{true.duration_s:.3f} s, {true.tooth_hz} Hz, {readings['grind'].why}"
            )
        if true.clashed and not shift.standing:
            _score(study, readings, true)
    return study


def _kind(true: TrueGrind, top_hz: float) -> str:
    if not true.clashed:
        return "quiet"
    if true.tooth_hz > top_hz:
        return "too fast"
    return "faint" if true.level_db < FAINT_DB or true.duration_s < 0.025 else "grind"


def _score(study: GrindStudy, readings: dict, true: TrueGrind) -> None:
    for key, value in (("grind_level_db", true.level_db), ("grind_duration_s", true.duration_s)):
        if readings[key].value is not None and readings["grind"].value:
            study.errors.setdefault(key, []).append(readings[key].value - value)
            low, high = readings[key].interval95
            study.held.setdefault(key, []).append(bool(low <= value <= high))
    if readings["clash_match"].value is not None:
        study.matches.append(readings["clash_match"].value)


def study_all(
    count: int,
    *,
    first_seed: int = 0,
    minutes: float = 3.0,
    jobs: int = 1,
    without: Sequence[str] = (),
    box: str = "teeth",
) -> GrindStudy:
    """``count`` drives, every other on a rough road; ``without`` : signals that were not logged."""
    cases = [(first_seed + k // 2, ROADS[k % 2], minutes, tuple(without), box) for k in range(count)]
    whole = GrindStudy()
    if jobs == 1:
        for case in cases:
            whole.add(study_drive(case))
        return whole
    with Pool(jobs) as pool:
        for one in pool.imap_unordered(study_drive, cases):
            whole.add(one)
    return whole


def as_text(study: GrindStudy) -> str:
    """The table as it is printed."""
    lines = [f"{'shifts':<24}{'of':>6}{'found':>9}{'denied':>9}{'open':>9}"]
    for kind in sorted(key for key in study.counts if ":" not in key):
        told = "".join(f"{study.share(kind, said):>9.4f}" for said in ("found", "denied", "open"))
        lines.append(f"{kind:<24}{study.counts[kind]:>6}{told}")
    for key, errors in study.errors.items():
        off = np.array(errors)
        p95, held = np.percentile(np.abs(off), 95), np.mean(study.held[key])
        lines.append(
            f"{key}: bias {np.median(off):.3f}, error median {np.median(np.abs(off)):.3f}, 95th percentile {p95:.3f}, "
            f"interval held the truth {held:.3f} of {off.size}"
        )
    if study.matches:
        lines.append(f"clash match of true grinds: median {np.median(study.matches):.2f} of {len(study.matches)}")
    return "\n".join(lines)


def main() -> None:
    """Read the command line, study, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--drives", type=int, default=20)
    parser.add_argument("--first-seed", type=int, default=0)
    parser.add_argument("--minutes", type=float, default=3.0)
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--misses", nargs="?", const="", help="print what was missed, or what of it holds this word")
    parser.add_argument("--without", nargs="*", default=(), help="left out: engine_speed, vehicle_speed, clutch")
    parser.add_argument("--box", choices=BOXES, default="teeth", help="which gearbox")
    asked = parser.parse_args()
    study = study_all(
        asked.drives, first_seed=asked.first_seed, minutes=asked.minutes, jobs=asked.jobs, without=asked.without,
        box=asked.box,
    )  # fmt: skip
    print(as_text(study))
    if asked.misses is not None:
        print("\n".join(line for line in study.misses if asked.misses in line))


if __name__ == "__main__":
    main()
