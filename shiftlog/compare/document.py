"""A comparison as the document that `shiftlog compare --json` writes."""

from dataclasses import asdict

from shiftlog.model.comparison import Comparison, Row
from shiftlog.model.repeatability import SetupWorth

FORMAT = 1
DIGITS = 6


def comparison_to_document(comparison: Comparison) -> dict[str, object]:
    """RFC 8259 content: no NaN, no infinity; figures to six digits after the point."""
    return {
        "format": FORMAT,
        "before": list(comparison.before),
        "after": list(comparison.after),
        "caveats": list(comparison.caveats),
        "advice": list(comparison.advice),
        "hand": None if comparison.hand is None else round(comparison.hand, DIGITS),
        "rows": [_row(row) for row in comparison.rows],
    }


def _row(row: Row) -> dict[str, object]:
    fields = {k: v for k, v in asdict(row).items() if k not in ("values_before", "values_after")}
    plain = {k: round(v, DIGITS) if isinstance(v, float) else v for k, v in fields.items()}
    plain["left_out"] = {**fields["left_out"], "why": list(row.left_out.why)}
    plain["notes"] = list(row.notes)
    plain |= {"k_before": row.k_before, "k_after": row.k_after}
    return plain


def setup_to_document(worth: SetupWorth) -> dict[str, object]:
    """What repeat drives say, as ``shiftlog compare --repeat … --json`` writes it."""
    return {
        "format": FORMAT,
        "repeat": list(worth.drives),
        "repeatability": [_plain(asdict(row)) for row in worth.repeatability],
        "gauge": [_plain(asdict(row)) for row in worth.gauge],
    }


def _plain(value: object) -> object:
    if isinstance(value, dict):
        return {key: _plain(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(one) for one in value]
    return round(value, DIGITS) if isinstance(value, float) else value
