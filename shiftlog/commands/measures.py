"""`shiftlog measures`: the catalogue."""

import argparse

from shiftlog.commands.terminal import table
from shiftlog.measure.catalogue import MEASURES, Measure


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The command has no arguments of its own."""


def run(args: argparse.Namespace) -> int:
    """Print every figure with its unit, direction, need and definition."""
    print(table(["figure", "unit", "better", "of a", "definition", "needs"], [_row(m) for m in MEASURES.values()]))
    return 0


def _row(measure: Measure) -> list[str]:
    definition = measure.definition if measure.measured else f"{measure.definition} (not measured by this version)"
    return [measure.key, measure.unit or "–", measure.better or "–", measure.of, definition, measure.needs]
