"""What comparisons claim where the truth is known: ``python -m tests.truth.compare_study --pages 2000``.

Drives are drawn with a drive-to-drive standard deviation of a quarter of the shift-to-shift one, ten shifts of each of
nine kinds in a drive, nine measures. Every row goes through the functions that `shiftlog compare` uses. Repeat drives
of another spread, shares and the guard have arms of their own.
"""

import argparse
from collections import Counter
from dataclasses import dataclass, field
from time import perf_counter

import numpy as np

from shiftlog.compare.drives import finish_rows
from shiftlog.compare.kinds import ALL
from shiftlog.compare.past import NO_PAST
from shiftlog.model.comparison import Row
from tests.truth.compare_pages import KINDS, NAMES, SHIFTS, Repeats, Truth, draft_measure, make_page, make_pasts
from tests.truth.compare_shares import share_lines


@dataclass
class Tally:
    """What was counted over pages."""

    counts: Counter = field(default_factory=Counter)
    first: list[str] = field(default_factory=list)

    def share(self, what: str, of: str) -> float:
        """Share of one count in another."""
        return self.counts[what] / self.counts[of] if self.counts[of] else float("nan")


def judge_page(page, truth: Truth, pasts) -> list[Row]:
    """All rows of a page, judged; pasts : for each measure its repeat drives."""
    drafts = []
    for name, sides, past in zip(NAMES, page, pasts, strict=True):
        drafts += draft_measure(name, sides, KINDS, margin=truth.margin, past=past)
    return finish_rows(drafts)


def count_page(tally: Tally, rows: list[Row], truth: Truth) -> None:
    """Add a page to the tally: what was claimed against what is true."""
    tally.counts["pages"] += 1
    wrong = []
    for row in rows:
        if row.difference is None:
            continue
        change = truth.changes[NAMES.index(row.measure)]
        size = "headline" if row.group == ALL else "kind"
        said = "claimed" if row.verdict in ("better", "worse") else row.verdict
        tally.counts[f"{size} rows"] += 1
        tally.counts[f"{size} covered"] += row.ci_low <= change <= row.ci_high
        if change:
            right = row.verdict == ("better" if change < 0 else "worse")
            tally.counts[f"{size} changed"] += 1
            tally.counts[f"{size} found"] += right
        else:
            tally.counts[f"{size} unchanged"] += 1
        if truth.margin is not None and abs(change) >= truth.margin:
            tally.counts[f"{size} beyond margin"] += 1
            tally.counts[f"{size} wrongly same"] += said == "same"
        if said == "claimed" and not row.provisional and not _is_right(row, change):
            wrong.append(f"{row.measure} {row.group}: {row.verdict}")
    tally.counts["pages with a wrong claim"] += bool(wrong)
    tally.first += wrong[:1]


def _is_right(row: Row, change: float) -> bool:
    return change != 0 and (row.verdict == "better") == (change < 0)


def study(
    pages: int, drives: int, truth: Truth, *, seed: int, repeats: Repeats | None = None, missing: float = 0.0
) -> Tally:
    """Many pages of one truth."""
    rng, tally = np.random.default_rng([seed, drives]), Tally()
    for _ in range(pages):
        page = make_page(rng, truth, drives, missing=missing)
        pasts = [NO_PAST] * len(page) if repeats is None else make_pasts(rng, repeats)
        count_page(tally, judge_page(page, truth, pasts), truth)
    return tally


def time_table() -> float:
    """Seconds for twelve kinds by ten measures over twenty drives."""
    rng = np.random.default_rng(1)
    kinds = tuple(f"{g}-{g + 1}" for g in range(1, 13))
    sides = [[{k: rng.normal(5, 1, SHIFTS) for k in kinds} for _ in range(10)] for _ in range(2)]
    began = perf_counter()
    drafts = [d for n in range(10) for d in draft_measure(f"measure {n}_s", sides, kinds, margin=0.5)]
    finish_rows(drafts)
    return perf_counter() - began


CHANGED = Truth(changes=(-1.5, *(0.0,) * 8))
AT_MARGIN = Truth(changes=(0.5,) * 9)
HISTORIES = {
    "five repeat drives": Repeats(),
    "five of another car, spreads log-normal (0.4)": Repeats(of_others=True, scatter=0.4),
    "five of another car that differs half as much": Repeats(of_others=True, size=0.5),
    "five of this car that differed half as much": Repeats(size=0.5),
}


def print_table(pages: int, seed: int, sizes: list[int]) -> None:
    """The whole table, one block for each number of drives a side."""
    few, some = max(pages // 8, 50), max(pages // 4, 50)
    print(f"{pages} null pages, {some} with one measure changed, {few} of each other; seed {seed}; asked in brackets")
    for drives in sizes:
        print(f"\n{drives} drives a side")
        _print_null("nothing changed", study(pages, drives, Truth(), seed=seed))
        _print_null("the same, kinds missing", study(few, drives, Truth(), seed=seed + 1, missing=0.4))
        for name, repeats in HISTORIES.items():
            _print_null(name, study(some, drives, Truth(), seed=seed + 2, repeats=repeats))
        changed = study(some, drives, CHANGED, seed=seed + 3)
        print(f"  a change of 1.5: found {_both(changed, 'found', 'changed')} (90 and 70 % at four)")
        _print_null("the other measures", changed)
        margin = study(few, drives, AT_MARGIN, seed=seed + 4)
        print(f"  a change as large as the margin: same {_both(margin, 'wrongly same', 'beyond margin')} (6 %)")
        print("\n".join(f"  {line}" for line in share_lines(some, drives, seed=seed + 5)))
    print(f"\n12 kinds by 10 measures over 20 drives: {time_table():.2f} s (10 s)")


def _print_null(name: str, tally: Tally) -> None:
    wrong = tally.share("pages with a wrong claim", "pages")
    print(
        f"  {name}: pages with a wrong claim {wrong:.1%} (6 %); covered {_both(tally, 'covered', 'rows')} (93 to 97 %)"
    )


def _both(tally: Tally, what: str, of: str) -> str:
    headline, kind = (tally.share(f"{size} {what}", f"{size} {of}") for size in ("headline", "kind"))
    return f"{headline:.1%} of headlines, {kind:.1%} of kinds"


def main() -> None:
    """Read how many pages, print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--pages", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--drives", type=int, nargs="+", default=[3, 4, 6], help="drives a side")
    args = parser.parse_args()
    print_table(args.pages, args.seed, args.drives)


if __name__ == "__main__":
    main()
