"""The tool's figures on drives with known truth, in short form; ``python -m tests.truth.score`` is the long one."""

import pytest

from tests.truth.score import as_text, score_all, table
from tests.truth.suite import cases

pytestmark = pytest.mark.truth

DRIVES = 16
"""Two of each car: over six hundred shifts, of which three may be missed; about a minute."""


def test_stated_figures_are_reached():
    """The targets stand in ``score.table``: found, from and to, times, outcome, rests, release, knock."""
    tally = score_all(list(cases(DRIVES, first_seed=1000)))
    print(as_text(tally))
    short = [f"{r.what} {r.value} (asked {r.target})" for r in table(tally) if not r.reached]
    assert not short, "; ".join(short)


def test_other_sensors_still_find_every_shift():
    """100 to 1000 Hz, 10-bit, turned and swapped axes, lost samples: shifts are found and named, times are coarser.
    No figure is stated for these; 99 % found, 1 % invented and 98 % named are what the drives allow by margin."""
    tally = score_all(list(cases(8, first_seed=2000, kind="hard")))
    print(as_text(tally))
    found, true = tally.counts["shifts found"], tally.counts["shifts true"]
    matched = tally.counts["shifts matched"]
    assert matched >= 0.99 * true
    assert found - matched <= 0.01 * found
    assert tally.counts["from and to right"] >= 0.98 * tally.counts["from and to judged"]
