"""What guided tests say, as the JSON document that other tools read."""

from collections.abc import Sequence
from dataclasses import asdict

from shiftlog.guided.configurations import Compared
from shiftlog.model.guided import GuidedResult

FORMAT = 1


def tests_to_document(
    kind: str, results: Sequence[tuple[str, GuidedResult]], compared: Compared | None, cautions: Sequence[str]
) -> dict:
    """Plain values only. results : the drive and what one of its spans said"""
    return {
        "format": FORMAT,
        "kind": kind,
        "spans": [{"drive": drive, **asdict(result)} for drive, result in results],
        "configurations": None if compared is None else asdict(compared),
        "cautions": list(cautions),
    }
