"""A comparison as the document that `shiftlog compare --json` writes."""

from dataclasses import asdict

from shiftlog.model.comparison import Comparison, Row

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
        "rows": [_row(row) for row in comparison.rows],
    }


def _row(row: Row) -> dict[str, object]:
    fields = {k: v for k, v in asdict(row).items() if k not in ("values_before", "values_after")}
    plain = {k: round(v, DIGITS) if isinstance(v, float) else v for k, v in fields.items()}
    plain["left_out"] = {**fields["left_out"], "why": list(row.left_out.why)}
    return plain
