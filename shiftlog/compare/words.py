"""The sentences of a comparison, for terminal and pages alike."""

from shiftlog.compare.difference import Difference
from shiftlog.measure.catalogue import Measure
from shiftlog.model.comparison import Row

SHARES = ("refused_share", "wrong_plane_share")


def figure(value: float, unit: str) -> str:
    """A figure with three significant digits at the most, and its unit."""
    digits = f"{value:.3g}" if abs(value) < 1000 else f"{value:.0f}"
    if "e" in digits:
        digits = f"{value:.4f}".rstrip("0").rstrip(".")
    return f"{digits} {unit}".strip().replace("-", "\N{MINUS SIGN}")


def _amount(measure: Measure, value: float) -> str:
    """A figure in the unit people read it in: shares in per cent."""
    if measure.key in SHARES:
        return f"{100 * value:.0f} %".replace("-", "\N{MINUS SIGN}")
    return figure(value, measure.unit)


def say_difference(measure: Measure, difference: Difference, word: str) -> str:
    """`shorter by 0.08 s (0.05 to 0.10)` and its like, never more certain than the verdict."""
    low, high = difference.ci95
    if word == "same":
        return f"no change that matters: the difference lies within {_amount(measure, measure.margin or 0.0)}"
    if word == "unclear":
        return f"not enough to tell: the difference lies between {_amount(measure, low)} and {_amount(measure, high)}"
    near, far = sorted((abs(low), abs(high)))
    direction = _direction(measure, difference.difference)
    size = _amount(measure, abs(difference.difference))
    return f"{direction} by {size} ({_amount(measure, near)} to {_amount(measure, far)})"


def _direction(measure: Measure, difference: float) -> str:
    if measure.key.endswith("_s"):
        return "shorter" if difference < 0 else "longer"
    if measure.key in SHARES:
        return "fewer" if difference < 0 else "more"
    return "smaller" if difference < 0 else "larger"


VERDICT_WORDS = {
    "better": "better", "worse": "worse", "same": "no change that matters", "unclear": "unclear",
    "too_few": "too few shifts",
}  # fmt: skip


def say_row(row: Row, label: str) -> str:
    """One line for a row: the measure, the kind of shift, the verdict and its reason."""
    kind = "all kinds" if row.group == "all" else row.group
    return f"{label}, {kind}: {VERDICT_WORDS[row.verdict]}. {row.why[:1].upper()}{row.why[1:]}."
