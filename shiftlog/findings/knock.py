"""A knock that grows with the difference in speed, whatever the hand."""

from collections.abc import Sequence

import numpy as np
from scipy.stats import rankdata, t

from shiftlog.findings.advice import ADVICE
from shiftlog.findings.candidate import Candidate
from shiftlog.findings.trouble import name_shifts
from shiftlog.measure.speed_difference import KEY
from shiftlog.measure.synchro import direction, is_plain, temperature_band
from shiftlog.model.car import Car
from shiftlog.model.result import Finding
from shiftlog.model.shift import Shift

FIGURES = ("knock_peak_mps2", KEY, "approach_speed_mmps")
LEAST_ALIKE, LEAST_SHIFTS = 4, 12
"""Shifts of one kind, and in all: fewer hold no rank correlation worth the name (common practice, no source)."""
LEAST_R = 0.4
"""A weaker tie explains less than a sixth of the knocks: nothing to look for (common practice, no source)."""
NAMED = 5
"""So many of the loudest shifts are named."""


def find_growing_knock(shifts: Sequence[Shift], car: Car) -> list[Candidate]:
    """Partial rank correlation of knock and difference, the approach speed held fast, within shifts of one kind."""
    groups: dict[tuple, list[Shift]] = {}
    for shift in shifts:
        if direction(shift) and is_plain(shift) and all(shift.value(key) is not None for key in FIGURES):
            kind = (shift.to_gear, direction(shift), temperature_band(shift.value("gearbox_temp_c")))
            groups.setdefault(kind, []).append(shift)
    groups = {kind: some for kind, some in groups.items() if len(some) >= LEAST_ALIKE}
    used = [s for some in groups.values() for s in some]
    if len(used) < LEAST_SHIFTS:
        return []
    r, p = _correlate([_ranks(some) for some in groups.values()])
    loud = sorted(used, key=lambda s: -s.value("knock_peak_mps2"))[:NAMED]
    advice = ADVICE["knock", "difference"]
    finding = Finding(
        what=f"The knock grows with the difference in speed (rank correlation {r:.2f} over {len(used)} shifts of "
        f"{len(groups)} kinds, the hand's own speed taken out).",
        evidence=(*name_shifts(loud), f"partial rank correlation within kinds, n = {len(used)}, one-sided"),
        look_at=advice.look_at, also_looks_like=advice.also_looks_like, next_test=advice.next_test,
        shifts=tuple(s.number for s in loud), rule="knock difference",
    )  # fmt: skip
    return [Candidate(rule="knock difference", finding=finding, p=p, least_p=0.0, holds=r >= LEAST_R)]


def _ranks(shifts: Sequence[Shift]) -> np.ndarray:
    """(n, 3) ranks of knock, difference and approach speed among shifts of one kind, about zero, from −1 to 1."""
    values = np.abs([[s.value(key) for key in FIGURES] for s in shifts]).astype(float)
    return 2 * (rankdata(values, axis=0) - (len(shifts) + 1) / 2) / len(shifts)


def _correlate(groups: Sequence[np.ndarray]) -> tuple[float, float]:
    """Partial correlation of the first two columns, the third held fast, and its one-sided p (Student's t)."""
    knock, apart, hand = np.concatenate(groups).T
    rest = [x - hand * (x @ hand) / max(hand @ hand, 1e-12) for x in (knock, apart)]
    scale = float(np.linalg.norm(rest[0]) * np.linalg.norm(rest[1]))
    free = knock.size - len(groups) - 2
    if scale < 1e-9 or free < 1:
        return 0.0, 1.0
    r = float(np.clip(rest[0] @ rest[1] / scale, -1 + 1e-12, 1 - 1e-12))
    return r, float(t.sf(r * np.sqrt(free / (1 - r * r)), free))
