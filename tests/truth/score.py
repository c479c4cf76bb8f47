"""Score the tool on drives with known truth and print the table: ``python -m tests.truth.score --drives 60``."""

import argparse
from dataclasses import dataclass
from multiprocessing import Pool

import numpy as np

from shiftlog.pipeline import measure_drive
from tests.truth.suite import Case, cases
from tests.truth.tally import Tally, score


@dataclass(frozen=True, kw_only=True)
class Row:
    """One figure of the table: what was reached, what is asked, over how many."""

    what: str
    value: float | None
    target: float
    unit: str
    at_most: bool
    count: int

    @property
    def reached(self) -> bool:
        """Whether it is as good as is asked."""
        if self.value is None:
            return False
        return self.value <= self.target if self.at_most else self.value >= self.target


def score_case(case: Case) -> Tally:
    """Make one drive, measure it, and hold it against its truth."""
    drive = case.make()
    result = measure_drive(drive.as_drive())
    name = f"seed {case.seed} {case.car} {case.health}"
    if result.gate is None:
        tally = score(drive.truth, (), (), name=name)
        tally.misses.insert(0, f"no gate map: {name} {result.gate_why}")
        return tally
    return score(drive.truth, result.shifts, result.rests, name=name)


def score_all(these: list[Case], *, jobs: int = 1) -> Tally:
    """One tally over all cases."""
    whole = Tally()
    if jobs == 1:
        for case in these:
            whole.add(score_case(case))
        return whole
    with Pool(jobs) as pool:
        for tally in pool.imap_unordered(score_case, these):
            whole.add(tally)
    return whole


def table(tally: Tally) -> list[Row]:
    """The figures with what is asked of them."""
    matched, found = tally.share("shifts matched", "shifts true"), tally.counts["shifts found"]
    invented = (found - tally.counts["shifts matched"]) / found if found else None
    shifts = tally.counts["shifts true"]
    rows = [
        _row("shifts found", matched, 0.995, "share", shifts, at_most=False),
        _row("shifts invented", invented, 0.005, "share", found, at_most=True),
        _share(tally, "from and to", 1.0),
        _share(tally, "outcome", 0.98),
    ]
    rows += _spread(tally, "shift_time_s", "shift time", 0.0015, 0.004, "s")
    rows += _spread(tally, "neutral_time_s", "neutral time", 0.005, None, "s")
    rows += _spread(tally, "baulk_time_s", "baulk time", 0.015, None, "s")
    rows += _spread(tally, "offset_mm", "rest offset", 0.3, 0.8, "mm")
    rows += [_share(tally, "plane", 1.0), _share(tally, "released", 0.95)]
    rows += _spread(tally, "return_time_s", "return time", 0.04, None, "s")
    rows += _spread(tally, "knock_peak_mps2", "knock peak", 0.10, None, "share")
    return rows


def _row(what: str, value: float | None, target: float, unit: str, count: int, *, at_most: bool) -> Row:
    return Row(what=what, value=value, target=target, unit=unit, at_most=at_most, count=count)


def _share(tally: Tally, what: str, target: float) -> Row:
    value = tally.share(f"{what} right", f"{what} judged")
    return _row(f"{what} right", value, target, "share", tally.counts[f"{what} judged"], at_most=False)


def _spread(tally: Tally, key: str, what: str, median: float, p95: float | None, unit: str) -> list[Row]:
    errors = tally.errors.get(key, [])
    rows = [_row(f"{what}, median error", _quantile(errors, 50), median, unit, len(errors), at_most=True)]
    if p95 is not None:
        rows.append(_row(f"{what}, p95 error", _quantile(errors, 95), p95, unit, len(errors), at_most=True))
    return rows


def _quantile(errors: list[float], percent: float) -> float | None:
    return float(np.percentile(errors, percent)) if errors else None


def _beside(tally: Tally) -> list[str]:
    """Figures that nothing is asked of, but that tell where it hurts."""
    asked = ("from and to", "outcome", "plane", "released")
    lines = []
    for key in sorted(k.removesuffix(" judged") for k in tally.counts if k.endswith(" judged")):
        if key not in asked:
            value, count = tally.share(f"{key} right", f"{key} judged"), tally.counts[f"{key} judged"]
            lines.append(f"{key:<34}{value:>10.4f}  of {count}")
    for whole in ("true", "found"):
        lines.append(f"{'rests matched, of ' + whole:<34}{tally.share('rests matched', f'rests {whole}') or 0:>10.4f}")
    for key in sorted(tally.errors):
        median, p95 = (_quantile(tally.errors[key], percent) for percent in (50, 95))
        lines.append(f"{key + ' error, median and p95':<44}{median:>10.4f}{p95:>10.4f}  of {len(tally.errors[key])}")
    return lines


def as_text(tally: Tally) -> str:
    """The table as it is printed."""
    lines = [f"{'figure':<34}{'reached':>10}{'asked':>10}  unit    of"]
    for row in table(tally):
        value = "-" if row.value is None else f"{row.value:.4f}"
        mark = "" if row.reached else "   NOT REACHED"
        lines.append(f"{row.what:<34}{value:>10}{row.target:>10.4f}  {row.unit:<6}{row.count:>5}{mark}")
    return "\n".join([*lines, "", *_beside(tally)])


def main() -> None:
    """Read the command line, score, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--drives", type=int, default=60)
    parser.add_argument("--first-seed", type=int, default=0)
    parser.add_argument("--minutes", type=float, default=4.0)
    parser.add_argument("--kind", choices=("plain", "hard", "odd"), default="plain")
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--misses", type=int, default=0, help="print this many of the lines that were wrong")
    args = parser.parse_args()
    these = list(cases(args.drives, first_seed=args.first_seed, minutes=args.minutes, kind=args.kind))
    tally = score_all(these, jobs=args.jobs)
    print(as_text(tally))
    for line in sorted(tally.misses)[: args.misses]:
        print(line)


if __name__ == "__main__":
    main()
