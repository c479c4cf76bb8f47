"""Clunk, shuffle, felt dose and grind against truth: ``python -m tests.truth.measures_study --drives 24``.

Every car in turn, healthy and worn, on a smooth road and on a rough one with potholes during shifts and now and then a
rattling trim; gain and zero of each accelerometer drawn from the calibration uncertainty that its log states.
"""

import argparse
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from multiprocessing import Pool

import numpy as np

from shiftlog.model.shift import Shift
from shiftlog.pipeline import measure_drive
from shiftlog.synth.cars import CARS
from shiftlog.synth.clash import Clash
from shiftlog.synth.health import draw_health
from shiftlog.synth.recorder import Sensors
from shiftlog.synth.scenario import SynthDrive, make_drive
from tests.truth.matching import match_shifts

ROADS = ("smooth", "holed")
SAME_AS = {"shuffle_decrement_damping": "shuffle_damping"}
"""A figure whose truth stands under another key."""
CONTINUOUS = (
    "shift_time_s", "neutral_time_s", "baulk_time_s", "drive_gap_s", "approach_speed_mmps", "engine_speed_rpm",
    "vehicle_speed_mps", "knock_peak_mps2", "knock_energy_m2s3", "jerk_p2p_mps3", "shuffle_hz", "shuffle_damping",
    "shuffle_amplitude_mps2", "shuffle_decrement_damping", "vdv_mps175", "mtvv_mps2", "grind_level_db",
    "grind_duration_s",
)  # fmt: skip
STRONG_MPS2 = 0.5
"""Shuffle is scored where its true amplitude exceeds this."""
FAINT_DB = 6.0
"""Of a clash that stands no further over the background no window counts as a burst, by definition."""
HEARD_SHARE = 0.4
TOO_FAST = "grind too fast"
"""Teeth that passed above what the recorder hears: open by definition unless something is heard all the same, and then
for that reason."""
FEW_TEETH, LEAST_TEETH = "grind of one or two teeth", 3
"""Fewer blows are no burst: a touch of the cone sounds the same, and a gear is in before more teeth pass."""
TOO_FAST_WHY = "nothing was heard, but the teeth could have met at up to"


@dataclass(frozen=True, kw_only=True)
class MeasuresCase:
    """One drive; the same case gives the same drive, and no two cases share a sensor, whose gain goes through all."""

    seed: int
    road: str
    minutes: float = 4.0

    def make(self) -> SynthDrive:
        """The drive, about two seconds' work."""
        rng = np.random.default_rng([self.seed, 41])
        car = CARS[list(CARS)[self.seed % len(CARS)]]
        health = draw_health("healthy" if rng.random() < 0.3 else "worn", car, rng)
        rattle = rng.uniform(0.3, 1.2) if self.road == "holed" and rng.random() < 0.3 else 0.0
        sensors = Sensors(
            lever_turn_deg=rng.uniform(-6, 6),
            gearbox_rate_hz=float(rng.choice([1600.0, 1600.0, 3200.0])),
            body_rate_hz=float(rng.choice([100.0, 200.0, 400.0])),
            gain_u=rng.uniform(0.005, 0.03),
            bias_u_mps2=rng.uniform(0.05, 0.4),
            declare_calibration=True,
            accel_range_g=float(rng.choice([16.0, 16.0, 16.0, 16.0, 4.0])),
        )
        return make_drive(
            car=car, seed=2 * self.seed + ROADS.index(self.road), health=replace(health, rattle_mps2=rattle),
            road=self.road, sensors=sensors,
            minutes=self.minutes, hurry=rng.uniform(0.8, 1.5),
        )  # fmt: skip


@dataclass(eq=False, kw_only=True)
class Study:
    """Counts by name, errors by figure, and whether each stated interval held the truth."""

    counts: Counter[str] = field(default_factory=Counter)
    errors: dict[str, list[float]] = field(default_factory=dict)
    held: dict[str, list[bool]] = field(default_factory=dict)
    misses: list[str] = field(default_factory=list)

    def add(self, other: "Study") -> None:
        """Take another study in."""
        self.counts += other.counts
        self.misses += other.misses
        for mine, theirs in ((self.errors, other.errors), (self.held, other.held)):
            for key, values in theirs.items():
                mine.setdefault(key, []).extend(values)

    def error(self, key: str, value: float) -> None:
        """Note one error."""
        self.errors.setdefault(key, []).append(value)

    def share(self, part: str, whole: str) -> float | None:
        """A count as a share of another, or None where there is nothing to count."""
        return self.counts[part] / self.counts[whole] if self.counts[whole] else None


def cases(count: int, *, first_seed: int = 0, minutes: float = 4.0) -> Iterator[MeasuresCase]:
    """``count`` cases, every other on a rough road; each car meets both roads."""
    for index in range(count):
        yield MeasuresCase(seed=first_seed + index // 2, road=ROADS[index % 2], minutes=minutes)


def study_case(case: MeasuresCase) -> Study:
    """Make one drive, measure it, and hold every figure against its truth."""
    drive = case.make()
    found = measure_drive(drive.as_drive()).shifts
    study = Study()
    study.counts.update({"drives": 1, "shifts": len(drive.truth.shifts)})
    for t, f in match_shifts(drive.truth.shifts, found):
        true, got = drive.truth.shifts[t], found[f]
        if (true.from_gear, true.to_gear, true.outcome) == (got.from_gear, got.to_gear, got.outcome):
            _grind(study, true, got, drive, case)
            _errors(study, true, got)
            _coverage(study, true, got, case)
    return study


def study_all(these: Sequence[MeasuresCase], *, jobs: int = 1) -> Study:
    """One study over all cases."""
    whole = Study()
    if jobs == 1:
        for case in these:
            whole.add(study_case(case))
        return whole
    with Pool(jobs) as pool:
        for study in pool.imap_unordered(study_case, these):
            whole.add(study)
    return whole


def _grind(study: Study, true: Shift, got: Shift, drive: SynthDrive, case: MeasuresCase) -> None:
    """Counts by road: true grinds that can be heard, those found and left open; quiet shifts and false alarms."""
    clashed, said = true.value("grind"), got.value("grind")
    if clashed is None or "grind" not in got.readings:
        return
    kind = "no grind"
    if clashed:
        top_hz = HEARD_SHARE * drive.signals().accel["gearbox"].rate_hz
        kind = _kind(drive.truth.clashes[true.number], true.value("grind_level_db"), top_hz)
    whole, why = f"{kind}, {case.road}", got.readings["grind"].why
    answer = "left open" if said is None else "found" if said else "denied"
    study.counts.update((whole, f"{whole}: {answer}"))
    as_must_be = kind == TOO_FAST and said is None and why.startswith(TOO_FAST_WHY)
    study.counts[f"{whole}: left open for that"] += as_must_be
    if said is not clashed and not as_must_be:
        study.misses.append(
            f"{whole} seed {case.seed} shift {true.number} at {true.start_s:.2f} s said {said}: "
            f"true level {true.value('grind_level_db')} dB, {why}"
        )


def _kind(clash: Clash, level_db: float, top_hz: float) -> str:
    """By the truth alone. Too fast: above the recorder all the time, or mostly with nothing that counts as a burst."""
    track_hz = clash.track_hz
    if track_hz.min() > top_hz or (np.median(track_hz) > top_hz and level_db < FAINT_DB):
        return TOO_FAST
    passed = float(np.sum(track_hz) * np.min(np.diff(clash.track_s)))
    return "grind" if passed >= LEAST_TEETH else FEW_TEETH


def _errors(study: Study, true: Shift, got: Shift) -> None:
    strong = (true.value("shuffle_amplitude_mps2") or 0.0) > STRONG_MPS2
    for key in CONTINUOUS:
        if key.startswith("shuffle") and not strong:
            continue
        value, figure = true.value(SAME_AS.get(key, key)), got.value(key)
        if value is None:
            continue
        study.counts[f"{key} true"] += 1
        if figure is not None:
            study.counts[f"{key} given"] += 1
            study.error(key, figure - value)
            if value:
                study.error(f"{key} relative", figure / value - 1)


def _coverage(study: Study, true: Shift, got: Shift, case: MeasuresCase) -> None:
    for key in CONTINUOUS:
        value, reading = true.value(SAME_AS.get(key, key)), got.readings.get(key)
        if value is None or reading is None or reading.value is None or reading.interval95 is None:
            continue
        if value == 0.0 == reading.value:
            continue
        low, high = reading.interval95
        held = bool(low <= value <= high)
        study.held.setdefault(key, []).append(held)
        if not held:
            study.misses.append(
                f"{key} {case.road} seed {case.seed} shift {true.number} at {true.start_s:.2f} s: "
                f"true {value:.4g}, given {reading.value:.4g} in {low:.4g} … {high:.4g}"
            )


@dataclass(frozen=True, kw_only=True)
class Row:
    """One line of the table: what was reached over how many cases, what is asked; None where there are no data."""

    what: str
    value: float | None
    asked: str
    count: int


def table(study: Study) -> list[Row]:
    """Every figure that something is asked of."""
    rows = []
    for road, asked in zip(ROADS, ("97 %", "90 %"), strict=True):
        for kind, said, want in (
            ("grind", "found", f"≥ {asked}"),
            ("grind", "left open", ""),
            ("no grind", "found", "≤ 1 %"),
            ("no grind", "left open", ""),
            (FEW_TEETH, "found", ""),
            (FEW_TEETH, "left open", ""),
            (TOO_FAST, "found", ""),
            (TOO_FAST, "left open for that", "the others"),
        ):
            whole = f"{kind}, {road}"
            value = study.share(f"{whole}: {said}", whole)
            rows.append(Row(what=f"{whole}: {said}", value=value, asked=want, count=study.counts[whole]))
    for what, key, asked in (
        ("grind level error, median [dB]", "grind_level_db", "≤ 3"),
        ("grind duration error, median [s]", "grind_duration_s", ""),
        ("knock error, median share", "knock_peak_mps2 relative", "≤ 0.08"),
        ("knock energy error, median share", "knock_energy_m2s3 relative", ""),
        ("shuffle frequency error, median [Hz]", "shuffle_hz", "≤ 0.2"),
        ("shuffle damping error, median", "shuffle_damping", "≤ 0.03"),
        ("shuffle amplitude error, median share", "shuffle_amplitude_mps2 relative", ""),
        ("decrement damping error, median", "shuffle_decrement_damping", ""),
        ("jerk error, median share", "jerk_p2p_mps3 relative", ""),
        ("VDV error, median share", "vdv_mps175 relative", "≤ 0.03"),
        ("MTVV error, median share", "mtvv_mps2 relative", ""),
    ):
        errors = np.abs(study.errors.get(key, []))
        rows.append(
            Row(what=what, value=float(np.median(errors)) if errors.size else None, asked=asked, count=errors.size)
        )
    return rows + coverage_rows(study)


def coverage_rows(study: Study) -> list[Row]:
    """Share of stated 95 % intervals that held the truth, by figure and over all."""
    rows = []
    for key in CONTINUOUS:
        held = study.held.get(key, [])
        value = float(np.mean(held)) if held else None
        rows.append(Row(what=f"{key} within its interval", value=value, asked="92 … 98 %", count=len(held)))
    every = [held for some in study.held.values() for held in some]
    whole = float(np.mean(every)) if every else None
    return [*rows, Row(what="all intervals", value=whole, asked="92 … 98 %", count=len(every))]


def as_text(study: Study) -> str:
    """The table as it is printed, with what share of the true figures was given at all."""
    counts = study.counts
    lines = [f"{counts['drives']} drives, {counts['shifts']} shifts", f"{'figure':<46}{'reached':>10}  {'asked':<12}of"]
    for row in table(study):
        value = "no data" if row.value is None else f"{row.value:.4f}"
        lines.append(f"{row.what:<46}{value:>10}  {row.asked:<12}{row.count}")
    lines += ["", f"{'figure':<34}{'given':>8}{'bias':>10}{'p95 error':>11}   of the true ones"]
    for key in CONTINUOUS:
        true, errors = counts[f"{key} true"], np.array(study.errors.get(key, []))
        given = f"{counts[f'{key} given'] / true:.3f}" if true else "no data"
        told = f"{np.median(errors):>10.4f}{np.percentile(np.abs(errors), 95):>11.4f}" if errors.size else f"{'-':>21}"
        lines.append(f"{key:<34}{given:>8}{told}   {true}")
    return "\n".join(lines)


def main() -> None:
    """Read the command line, study, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--drives", type=int, default=24)
    parser.add_argument("--first-seed", type=int, default=0)
    parser.add_argument("--minutes", type=float, default=4.0)
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--misses", nargs="?", const="", help="print what was missed, or what of it holds this word")
    args = parser.parse_args()
    study = study_all(list(cases(args.drives, first_seed=args.first_seed, minutes=args.minutes)), jobs=args.jobs)
    print(as_text(study))
    if args.misses is not None:
        print("\n".join(line for line in sorted(study.misses) if args.misses in line))


if __name__ == "__main__":
    main()
