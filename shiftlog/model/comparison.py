"""Two sets of drives, compared measure by measure."""

from collections.abc import Mapping
from dataclasses import dataclass

DAYS, SHIFTS, TESTS, TRIES = "drives", "shifts", "repeats within a test", "tries"
"""What an interval counts the spread of."""
CHANGED_P = 0.05
VERDICTS = ("better", "worse", "same", "unclear", "too_few")


@dataclass(frozen=True, eq=False, kw_only=True)
class LeftOutCount:
    """How many shifts were left out of a row on each side, and why."""

    before: int
    after: int
    why: tuple[str, ...]


@dataclass(frozen=True, eq=False, kw_only=True)
class Row:
    """One measure for one kind of shift (``group``), or for ``all``.

    before, after : mean of the drive medians; difference : after − before; ci_low, ci_high : 95 % interval
    p_corrected : after Holm's correction over the page, kinds behind their headline; a verdict needs this one
    smallest_change : that these drives can show (half the 95 % interval), None where how drives differ is not known
    margin : a smaller difference does not matter; df : degrees of freedom of the spread
    more_drives : a side, that would settle an unclear row; times_shifts : as many shifts in each drive
        (repeats in each test), that would
    better : ``lower`` | ``higher`` | None: which direction is better, from the catalogue
    values_before, values_after : every value used, by drive, for the picture
    history_df : degrees of freedom that repeat drives with nothing changed gave
    p_explore : after Benjamini and Hochberg's correction over all rows, for looking around, not for claims
    why : the reason in words, whole; notes : those parts of it that stand beside the figures
    taken_back : what speaks against what the figures alone would have said, or None
    p_same : of two one-sided tests against the margin, before any correction
    p_permutation : exact permutation over whole drives, or None where it cannot answer
    counted : what one value is of, as the word for one of them: ``shift``, ``rest``, ``let-go``, ``push``
    tries_needed : of a marked test in all, a side, that would settle an unclear row of such counts
    interval_covers : what the intervals count: ``drives``; or ``shifts``, ``repeats within a test`` or ``tries`` alone,
        where how drives differ is not known, or no day lies between
    where : ``standstill test`` | ``road test`` | ``while driving``, or "" for shifts of the drive
    """

    measure: str
    group: str
    unit: str
    better: str | None
    drives_before: int
    drives_after: int
    n_before: int
    n_after: int
    before: float | None
    after: float | None
    difference: float | None
    ci_low: float | None
    ci_high: float | None
    p: float | None
    p_corrected: float | None
    cliffs_delta: float | None
    smallest_change: float | None
    margin: float | None
    df: float | None
    method: str
    left_out: LeftOutCount
    more_drives: int | None
    verdict: str
    provisional: bool
    why: str
    values_before: Mapping[str, tuple[float, ...]]
    values_after: Mapping[str, tuple[float, ...]]
    times_shifts: int | None = None
    history_df: int = 0
    p_explore: float | None = None
    p_permutation: float | None = None
    p_same: float | None = None
    notes: tuple[str, ...] = ()
    counted: str = "shift"
    where: str = ""
    taken_back: str | None = None
    interval_covers: str = "drives"
    tries_needed: int | None = None

    @property
    def changed(self) -> bool:
        """Whether it differs after the page's correction, where neither direction is better and no verdict tells it."""
        open_ = self.better is None and self.verdict == "unclear" and not self.taken_back
        return open_ and self.p_corrected is not None and self.p_corrected <= CHANGED_P

    @property
    def maybe_chance(self) -> bool:
        """Whether its own interval shows a difference, but not after what looking at many figures brings by chance."""
        known = None not in (self.p_corrected, self.ci_low, self.ci_high)
        return (
            known and self.verdict == "unclear" and not self.taken_back and not self.ci_low <= 0 <= self.ci_high
            and self.p_corrected > CHANGED_P
        )  # fmt: skip

    @property
    def k_before(self) -> int | None:
        """Of a share: how many of ``n_before`` were so; None for a figure that is no share."""
        return self._count(self.values_before)

    @property
    def k_after(self) -> int | None:
        """The same after."""
        return self._count(self.values_after)

    def _count(self, side: Mapping[str, tuple[float, ...]]) -> int | None:
        return round(sum(v for some in side.values() for v in some)) if self.measure.endswith("_share") else None

    def __post_init__(self) -> None:
        if self.verdict not in VERDICTS:
            raise ValueError(f"row {self.measure} {self.group}: no verdict {self.verdict!r}")


@dataclass(frozen=True, eq=False, kw_only=True)
class Comparison:
    """Drives before against drives after.

    caveats : what else differs and could look like the repair; advice : what would make the answer stronger
    hand : by what share the hand was harder after (below 0 gentler), None where about the same or not known
    """

    before: tuple[str, ...]
    after: tuple[str, ...]
    caveats: tuple[str, ...]
    rows: tuple[Row, ...]
    advice: tuple[str, ...] = ()
    hand: float | None = None
