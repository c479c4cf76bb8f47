"""Shares across drives where the truth is known: an arm of ``python -m tests.truth.compare_study``.

Each drive draws its share of refusals, grinds and rests out of the home plane about the true one (beta-binomial: tries
of one day are alike), and its times as the study of times does. Pages go through the guard as well.
"""

from collections import Counter
from dataclasses import dataclass

import numpy as np

from shiftlog.compare.drives import finish_rows
from shiftlog.compare.evidence import weigh_tests_of_days
from shiftlog.compare.guard import guard_rows
from shiftlog.model.comparison import Row
from tests.truth.compare_pages import DAY, KINDS, SHIFTS, draft_measure

RESTS = 15
BETWEEN = {"refused_share": (KINDS, SHIFTS), "grind_share": (KINDS, SHIFTS), "wrong_plane_share": (("rest",), RESTS)}
"""Kinds of each share, and tries of each kind in a drive."""
USUAL = {"refused_share": 0.1, "grind_share": 0.05, "wrong_plane_share": 0.3}
ALIKE = 0.05
"""Correlation of two tries of one day: nine kinds of ten then spread 2.3 times as much as chance alone would."""


@dataclass(frozen=True, kw_only=True)
class Page:
    """True shares before and after by measure, and the change of the two times in shift-to-shift deviations."""

    before: dict[str, float]
    after: dict[str, float]
    times: float = 0.0


STILL = Page(before=USUAL, after=USUAL)
MENDED = Page(before=USUAL | {"refused_share": 0.5}, after=USUAL | {"refused_share": 0.05})
CRASHING = Page(before=USUAL, after=USUAL | {"grind_share": 0.3}, times=-1.5)


def draw_shares(rng: np.random.Generator, share: float, size: int, *, alike: float = ALIKE) -> np.ndarray:
    """The share of each of ``size`` days, (size,)."""
    tries = (1 - alike) / alike
    return rng.beta(share * tries, (1 - share) * tries, size)


def make_rows(rng: np.random.Generator, page: Page, drives: int) -> list[Row]:
    """All rows of one page, guarded."""
    drafts = []
    for name, (kinds, tries) in BETWEEN.items():
        sides = [
            [{k: (rng.random(tries) < day).astype(float) for k in kinds} for day in draw_shares(rng, s[name], drives)]
            for s in (page.before, page.after)
        ]
        drafts += draft_measure(name, sides, kinds, margin=0.05)
    for name in ("baulk_time_s", "shift_time_s"):
        days = rng.normal(0, DAY, (2, drives)) + np.array([[0.0], [page.times]])
        sides = [[{k: rng.normal(5 + day, 1.0, SHIFTS) for k in KINDS} for day in side] for side in days]
        drafts += draft_measure(name, sides, KINDS, margin=0.5)
    return list(guard_rows(finish_rows(drafts), hand=None, cold=None))


def study_shares(pages: int, drives: int, page: Page, *, seed: int) -> Counter:
    """Over many pages: those with any wrong claim, right ones by measure, intervals that hold, times called better."""
    rng, tally = np.random.default_rng([seed, drives]), Counter(pages=pages)
    for _ in range(pages):
        rows = [row for row in make_rows(rng, page, drives) if row.difference is not None]
        tally["wrong"] += any(_is_wrong(row, page) for row in rows)
        for row in (r for r in rows if r.group == "all"):
            tally[row.measure, row.verdict] += 1
            tally["intervals"] += 1
            tally["held"] += row.ci_low <= _change(row, page) <= row.ci_high
    return tally


def _change(row: Row, page: Page) -> float:
    if row.measure not in BETWEEN:
        return page.times
    return page.after[row.measure] - page.before[row.measure]


def _is_wrong(row: Row, page: Page) -> bool:
    change = _change(row, page)
    claimed = row.verdict in ("better", "worse") and not row.provisional
    return claimed and (change == 0 or (row.verdict == "better") != (change < 0))


def study_tests(pairs: int, drives: int, tries: int, *, alike: float, seed: int) -> float:
    """Share of pairs of marked standstill tests, nothing changed, whose p is below 0.05."""
    rng = np.random.default_rng([seed, drives, tries])
    wrong = 0
    for _ in range(pairs):
        sides = [
            [list((rng.random(tries) < day).astype(float)) for day in draw_shares(rng, 0.5, drives, alike=alike)]
            for _ in range(2)
        ]
        wrong += weigh_tests_of_days(*sides).p < 0.05
    return wrong / pairs


def share_lines(pages: int, drives: int, *, seed: int) -> list[str]:
    """The lines of the study's table."""
    still, mended, crashing = (
        study_shares(pages, drives, page, seed=seed + n) for n, page in enumerate((STILL, MENDED, CRASHING))
    )
    gains = sum(crashing[name, "better"] for name in ("baulk_time_s", "shift_time_s"))
    tests = [study_tests(2 * pages, drives, n, alike=alike, seed=seed) for alike in (0.1, 0.3) for n in (6, 12)]
    return [
        f"shares, nothing changed: pages with a wrong claim {still['wrong'] / pages:.1%} (6 %); "
        f"covered {still['held'] / still['intervals']:.1%} of headlines",
        f"refusals from 50 to 5 in 100: found {mended['refused_share', 'better'] / pages:.1%}",
        f"times shorter by 1.5 and grinds from 5 to 30 in 100: times called better {gains / (2 * pages):.1%}",
        "standstill tests of several days, wrong at a correlation of 0.1 and 0.3, six and twelve tries: "
        + ", ".join(f"{wrong:.1%}" for wrong in tests),
    ]
