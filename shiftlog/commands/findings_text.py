"""Findings in sentences for the terminal."""

import textwrap

from shiftlog.commands.terminal import WIDTH
from shiftlog.findings.words import CAUTION, HEADING
from shiftlog.model.result import DriveResult, Finding


def finding_lines(result: DriveResult) -> list[str]:
    """What stands out in a drive, each with its evidence and what to do next; nothing where nothing does."""
    if not result.findings:
        return []
    lines = ["", f"{HEADING}:"]
    for finding in result.findings:
        lines += [_wrap(finding.what, "- "), *_under(finding)]
    return [*lines, *textwrap.wrap(CAUTION, WIDTH)]


def _under(finding: Finding) -> list[str]:
    parts = {
        "evidence": ", ".join(finding.evidence),
        "keep in mind": " ".join(finding.notes),
        "look at": "; ".join(finding.look_at),
        "also looks like this": "; ".join(finding.also_looks_like),
        "cheapest next test": finding.next_test,
    }
    return [_wrap(f"{name}: {text}", "  ") for name, text in parts.items() if text]


def _wrap(text: str, before: str) -> str:
    return textwrap.fill(text, WIDTH, initial_indent=before, subsequent_indent="    ")
