"""Made pages of comparisons: figures of drives, drawn with a day for each drive, and the rows that they give."""

from dataclasses import dataclass, replace

import numpy as np

from shiftlog.compare.drafts import Draft
from shiftlog.compare.evidence import weigh_drives
from shiftlog.compare.kinds import ALL
from shiftlog.compare.pairing import SHARES
from shiftlog.compare.past import NO_PAST, Past
from shiftlog.measure.catalogue import MEASURES
from shiftlog.model.comparison import LeftOutCount

KINDS = tuple(f"{g}-{g + 1}" for g in range(1, 10))
# Nine measures, each with its own name; all that matters here is that lower is better and that a margin is given.
NAMES = tuple(f"measure {n}_s" for n in range(9))
DAY, SHIFTS = 0.25, 10
NOTHING = LeftOutCount(before=0, after=0, why=())


@dataclass(frozen=True, kw_only=True)
class Truth:
    """Changes (after − before) in shift-to-shift standard deviations, by measure, and the margin that matters."""

    changes: tuple[float, ...] = (0.0,) * len(NAMES)
    margin: float | None = 0.5


@dataclass(frozen=True, kw_only=True)
class Repeats:
    """Repeat drives with nothing changed that the workshop has besides.

    drives : how many; of_others : of another car; size : their drive-to-drive spread over that of the drives compared;
    scatter : standard deviation of the logarithm of that size from page to page
    """

    drives: int = 5
    of_others: bool = False
    size: float = 1.0
    scatter: float = 0.0


def make_page(
    rng: np.random.Generator, truth: Truth, drives: int, *, missing: float = 0.0, day: float = DAY, sides: int = 2
):
    """Values of both sides for each measure: a list by measure of two sides of drives by kind.

    missing : chance that a drive has fewer than half of a kind's shifts, or none; day : drive-to-drive spread
    """
    page = []
    for change in truth.changes:
        days = rng.normal(0, day, (sides, drives)) + change * np.arange(sides)[:, None]
        values = rng.normal(days[..., None, None], 1.0, (sides, drives, len(KINDS), SHIFTS))
        values += 5 + 0.3 * np.arange(len(KINDS))[:, None]
        page.append([[_as_drive(rng, drive, missing) for drive in side] for side in values])
    return page


def _as_drive(rng: np.random.Generator, values: np.ndarray, missing: float) -> dict[str, np.ndarray]:
    thin = rng.random(len(KINDS)) < missing
    counts = np.where(thin, rng.integers(0, values.shape[1] // 2, len(KINDS)), values.shape[1])
    return {kind: v[:n] for kind, v, n in zip(KINDS, values, counts, strict=True) if n}


def make_pasts(rng: np.random.Generator, repeats: Repeats) -> list[Past]:
    """One group of repeat drives for each measure."""
    day = DAY * repeats.size * np.exp(rng.normal(0, repeats.scatter))
    page = make_page(rng, Truth(), repeats.drives, day=day, sides=1)
    return [Past(groups=side, of_others=repeats.of_others) for side in page]


def draft_measure(name: str, sides, kinds, *, margin: float | None, past: Past = NO_PAST) -> list[Draft]:
    """The headline and the kinds of one measure."""
    measure = MEASURES.get(name) or replace(MEASURES["shift_time_s"], key=name)
    drafts = []
    for group, these in ((ALL, kinds), *((k, (k,)) for k in kinds)):
        values = tuple(
            {str(d): tuple(v for k in these for v in drive.get(k, ())) for d, drive in enumerate(side)}
            for side in sides
        )
        evidence = weigh_drives(sides, these, yes_no=name in SHARES, headline=group == ALL, history=past)
        draft = Draft(
            measure=measure, group=group, values=values, evidence=evidence, left_out=NOTHING, margin=margin
        )  # fmt: skip
        drafts.append(draft)
    return drafts
