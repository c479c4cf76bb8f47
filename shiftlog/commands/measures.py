"""`shiftlog measures`: the catalogue."""

import argparse
import textwrap
from collections.abc import Iterable

from shiftlog.commands.terminal import WIDTH
from shiftlog.measure.catalogue import MEASURES, Measure

INDENT = "    "
DIRECTIONS = {"lower": "lower is better", "higher": "higher is better", None: "neither way is better by itself"}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """--markdown prints the README's table."""
    parser.add_argument("--markdown", action="store_true", help="print the table of the README")


def run(args: argparse.Namespace) -> int:
    """Print every figure with its unit, direction, definition, source, plausible range and need."""
    print(as_markdown(MEASURES.values()) if args.markdown else "\n\n".join(_told(m) for m in MEASURES.values()))
    return 0


def _told(measure: Measure) -> str:
    unit = f" [{measure.unit}]" if measure.unit else ""
    low, high = (f"{limit:g}" for limit in measure.plausible)
    lines = (
        f"{measure.definition[0].upper()}{measure.definition[1:]}.",
        f"Of a {measure.of}; {DIRECTIONS[measure.better]}; plausible from {low} to {high}.",
        f"Needs {measure.needs}. Source: {measure.source}.",
    )
    texts = (textwrap.fill(line, WIDTH, initial_indent=INDENT, subsequent_indent=INDENT) for line in lines)
    return "\n".join([f"{measure.label}, {measure.key}{unit}", *texts])


def as_markdown(measures: Iterable[Measure]) -> str:
    """One row a figure, as the README has them."""
    heads = ("figure", "unit", "of a", "better", "what it says", "needs")
    rows = [(m.label, m.unit or "–", m.of, m.better or "–", m.definition, m.needs) for m in measures]
    return "\n".join(f"| {' | '.join(row)} |" for row in (heads, ("---",) * len(heads), *rows))
