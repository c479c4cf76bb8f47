"""How well shifts are found from a phone alone.

    python -m tests.truth.phone_study --drives 16

For each kind of phone and road: shifts found by what the wheels did before, shifts invented, the drive gap's error, and
whether the confidence is honest. Found means a start within 0.7 s of the true one (of the lever's leaving the gear or
of the true drive gap); every other claim counts as invented. Of these some are misplaced: a gear was changed then, but
the clutch opened at next to no drive, which nobody can feel, and the start lies elsewhere.
"""

import argparse
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from scipy.optimize import linear_sum_assignment

from shiftlog.detect.phone_shifts import find_accel_shifts
from shiftlog.model.settings import Settings
from shiftlog.model.shift import Shift
from tests.truth.other_drive import Phone
from tests.truth.phone_truth import Event, PhoneCase, other_cases, synth_cases, third_cases

WINDOW_S = 0.7

CLOSED_S = 0.5
"""The clutch is closed this long after the gear is in (common practice, no source)."""


@dataclass(eq=False, kw_only=True)
class PhoneTally:
    """true, found : by kind, ``drive gap`` those under drive with a clear true gap, ``clear`` and the kind those whose
    steps of drive stand out; sure : (confidence, was one)"""

    true: dict[str, int] = field(default_factory=dict)
    found: dict[str, int] = field(default_factory=dict)
    shifts: int = 0
    invented: int = 0
    misplaced: int = 0
    minutes: float = 0.0
    gap_errors_s: list[float] = field(default_factory=list)
    sure: list[tuple[float, bool]] = field(default_factory=list)

    def add(self, case: PhoneCase, shifts: tuple[Shift, ...]) -> None:
        pairs = match(case.events, shifts)
        for index, event in enumerate(case.events):
            self._count(event, shifts[pairs[index]] if index in pairs else None)
        matched = set(pairs.values())
        self.shifts += len(shifts)
        self.invented += len(shifts) - len(matched)
        left = [event for index, event in enumerate(case.events) if index not in pairs]
        self.misplaced += count_misplaced(left, [s for number, s in enumerate(shifts) if number not in matched])
        self.minutes += case.minutes
        self.sure += [(shift.confidence, number in matched) for number, shift in enumerate(shifts)]

    def _count(self, event: Event, shift: Shift | None) -> None:
        gap = event.kind == "drive" and event.gap is not None
        for key in (event.kind, *(["drive gap"] if gap else []), *([f"clear {event.kind}"] if event.clear else [])):
            self.true[key] = self.true.get(key, 0) + 1
            self.found[key] = self.found.get(key, 0) + (shift is not None)
        if event.gap and shift is not None and shift.gap:
            self.gap_errors_s.append((shift.gap[1] - shift.gap[0]) - (event.gap[1] - event.gap[0]))

    def share(self, *kinds: str) -> float:
        """Share found of the kinds named."""
        return sum(self.found.get(k, 0) for k in kinds) / max(sum(self.true.get(k, 0) for k in kinds), 1)

    @property
    def invented_share(self) -> float:
        return self.invented / max(self.shifts, 1)

    @property
    def false_share(self) -> float:
        """Share of the claims during which no gear was changed at all."""
        return (self.invented - self.misplaced) / max(self.shifts, 1)

    @property
    def gap_error_s(self) -> float:
        """Median size of the drive gap's error."""
        return float(np.median(np.abs(self.gap_errors_s)))

    def calibration(self) -> Mapping[str, tuple[float, int]]:
        """Share that were shifts, and their number, by band of confidence."""
        sure = np.array(self.sure).reshape(-1, 2)
        bands = {}
        for low in (0.5, 0.6, 0.7, 0.8, 0.9):
            inside = sure[(sure[:, 0] >= low) & (sure[:, 0] < low + 0.1)]
            if len(inside):
                bands[f"{low:.1f}"] = (float(inside[:, 1].mean()), len(inside))
        return bands


def match(events: tuple[Event, ...], shifts: tuple[Shift, ...]) -> dict[int, int]:
    """Index of event → index of shift, one to one, of least total distance."""
    apart = np.array(
        [[min(abs(s.start_s - e.start_s), abs(s.start_s - (e.gap or (1e9,))[0])) for s in shifts] for e in events]
    ).reshape(len(events), len(shifts))
    rows, columns = linear_sum_assignment(np.where(apart < WINDOW_S, apart, 1e6))
    return {int(r): int(c) for r, c in zip(rows, columns, strict=True) if apart[r, c] < WINDOW_S}


def count_misplaced(events: Sequence[Event], shifts: Sequence[Shift]) -> int:
    """How many of the claims overlap a change of gear, each with one of its own."""
    over = [
        [s.start_s < max(e.end_s, (e.gap or (0.0, 0.0))[1]) + CLOSED_S and s.end_s > e.open_s for s in shifts]
        for e in events
    ]
    if not events or not shifts:
        return 0
    rows, columns = linear_sum_assignment(over, maximize=True)
    return int(sum(over[r][c] for r, c in zip(rows, columns, strict=True)))


def score(cases: Iterable[PhoneCase], *, speed: bool = True, settings: Settings | None = None) -> PhoneTally:
    tally, settings = PhoneTally(), settings or Settings()
    for case in cases:
        signals = case.signals if speed else replace(case.signals, vehicle_speed=None)
        tally.add(case, find_accel_shifts(signals, case.car, settings).shifts)
    return tally


def line(name: str, tally: PhoneTally) -> str:
    counts = ", ".join(f"{k} {tally.found[k]}/{n} ({tally.share(k):.1%})" for k, n in sorted(tally.true.items()))
    gap = f", gap error {1000 * tally.gap_error_s:.0f} ms" if tally.gap_errors_s else ""
    sure = ", ".join(f"{k}: {share:.2f} of {n}" for k, (share, n) in tally.calibration().items())
    return (
        f"{name}: {counts}; invented {tally.invented} of {tally.shifts} ({tally.invented_share:.1%}), "
        f"{tally.misplaced} of these misplaced, "
        f"{tally.invented / max(tally.minutes, 1e-9):.2f} a minute{gap}; confidence {sure}"
    )


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--drives", type=int, default=16)
    count = parser.parse_args().drives
    poor = {"accel_bias": 0.3, "body_noise": 0.1}
    print(line("first driver, 100 Hz", score(synth_cases(count, first_seed=5000))))
    print(line("without speed", score(synth_cases(count, first_seed=5000), speed=False)))
    slow = synth_cases(count, first_seed=6000, body_rate_hz=50.0, lost_share=0.01, gps_rate_hz=1.0, **poor)
    print(line("50 Hz, noise, bias, lost samples", score(slow)))
    print(
        line(
            "200 Hz, holes, bias", score(synth_cases(count, first_seed=6500, body_rate_hz=200.0, body_holes=6, **poor))
        )
    )
    print(line("second driver", score(other_cases(count, first_seed=500))))
    turned = Phone(turn_deg=-3.0, bias_mps2=-0.3, noise_mps2=0.1, holes=3)
    print(line("second driver, phone 3° off, bias, holes", score(other_cases(count, first_seed=600, phone=turned))))
    print(line("second driver, no shift at all", score(other_cases(count, first_seed=700, still_every=1))))
    print(line("third driver", score(third_cases(count, first_seed=500))))


if __name__ == "__main__":
    main()
