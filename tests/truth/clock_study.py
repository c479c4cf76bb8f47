"""Score the matching of clocks on random drives: ``python -m tests.truth.clock_study --drives 100``."""

import argparse
import time
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from shiftlog.align.clocks import match_clocks
from tests.truth.clock_drives import KINDS, ClockCase, draw_case

WRONG_S = 0.05
SURE = 0.9


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """What became of one case: errors where it was placed, None where it was refused.

    true : whether there was a match to find
    """

    kind: str
    true: bool
    error_s: float | None
    drift_error_ppm: float | None
    confidence: float | None
    seconds: float

    @property
    def wrong(self) -> bool:
        """Placed where it does not belong."""
        return self.confidence is not None and (not self.true or abs(self.error_s) > WRONG_S)


def try_case(case: ClockCase) -> Outcome:
    """Match one case and hold it against its truth."""
    begin = time.perf_counter()
    match = match_clocks((case.first, case.second), case.first)[case.second.name]
    seconds = time.perf_counter() - begin
    both = match.offset_s is not None and case.offset_s is not None
    return Outcome(
        kind=case.kind,
        true=case.offset_s is not None,
        error_s=match.offset_s - case.offset_s if both else None,
        drift_error_ppm=match.drift_ppm - case.drift_ppm if both else None,
        confidence=match.confidence,
        seconds=seconds,
    )


def study(
    drives: int, *, kinds: Iterable[str] = KINDS, first_seed: int = 0, minutes: float | None = None
) -> list[Outcome]:
    """``drives`` cases in turn over the kinds, each of so many minutes, or of four to twelve."""
    kinds = tuple(kinds)
    return [try_case(draw_case(first_seed + i, kind=kinds[i % len(kinds)], minutes=minutes)) for i in range(drives)]


def as_text(outcomes: list[Outcome]) -> str:
    """The table as it is printed."""
    lines = [
        f"{'kind':<12}{'drives':>7}{'placed':>8}{'offset ms: median':>19}{'p95':>8}{'within 10 ms':>14}"
        f"{'drift ppm: median':>19}{'p95':>8}{'wrong':>7}{'and sure':>10}{'s each':>8}"
    ]
    for kind in dict.fromkeys(o.kind for o in outcomes):
        lines.append(_line(kind, [o for o in outcomes if o.kind == kind]))
    return "\n".join([*lines, "", *_calibration(outcomes)])


def _line(kind: str, mine: list[Outcome]) -> str:
    errors = np.array([abs(o.error_s) for o in mine if o.error_s is not None])
    drifts = np.array([abs(o.drift_error_ppm) for o in mine if o.drift_error_ppm is not None])
    placed = sum(o.confidence is not None for o in mine)
    wrong = [o for o in mine if o.wrong]
    figures = f"{'-':>19}{'-':>8}{'-':>14}{'-':>19}{'-':>8}"
    if errors.size:
        figures = (
            f"{1e3 * np.median(errors):>19.2f}{1e3 * np.percentile(errors, 95):>8.2f}"
            f"{np.mean(errors < 0.01):>14.3f}{np.median(drifts):>19.2f}{np.percentile(drifts, 95):>8.2f}"
        )
    sure = sum(o.confidence > SURE for o in wrong)
    seconds = float(np.mean([o.seconds for o in mine]))
    return f"{kind:<12}{len(mine):>7}{placed:>8}{figures}{len(wrong):>7}{sure:>10}{seconds:>8.2f}"


def _calibration(outcomes: list[Outcome]) -> list[str]:
    """Stated confidence against the share that was right, within 10 ms for motion sensors and 50 ms for the bus."""
    lines = [f"{'confidence':<16}{'matches':>8}{'stated':>8}{'right':>8}"]
    placed = [o for o in outcomes if o.confidence is not None]
    for low, high in ((0.0, 0.5), (0.5, 0.8), (0.8, 0.9), (0.9, 0.99), (0.99, 1.01)):
        here = [o for o in placed if low <= o.confidence < high]
        if here:
            right = [o.true and abs(o.error_s) < (0.05 if o.kind == "bus" else 0.01) for o in here]
            stated = np.mean([o.confidence for o in here])
            lines.append(f"{low:.2f} to {min(high, 1):.2f}    {len(here):>8}{stated:>8.3f}{np.mean(right):>8.3f}")
    return lines


def main() -> None:
    """Read the command line, score, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--drives", type=int, default=100)
    parser.add_argument("--first-seed", type=int, default=0)
    parser.add_argument("--kind", choices=KINDS, action="append")
    args = parser.parse_args()
    print(as_text(study(args.drives, kinds=args.kind or KINDS, first_seed=args.first_seed)))


if __name__ == "__main__":
    main()
