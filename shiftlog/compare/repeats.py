"""Repeat drives: drives of one car and one stage, between which nothing was changed."""

from collections.abc import Sequence

from shiftlog.model.result import DriveResult


def find_repeats(drives: Sequence[DriveResult], *, without: Sequence[DriveResult] = ()) -> list[list[DriveResult]]:
    """Groups of two or more drives of one car, stage and driver, in order of first appearance.

    without : drives that are being compared, which tell their own spread already
    """
    taken = {_mark(r) for r in without}
    groups: dict[tuple[str, ...], list[DriveResult]] = {}
    for result in drives:
        if result.head.stage is None or _mark(result) in taken:
            continue
        taken.add(_mark(result))
        groups.setdefault((result.car, result.head.stage, result.head.driver or ""), []).append(result)
    return [group for group in groups.values() if len(group) > 1]


def _mark(result: DriveResult) -> tuple[str, ...]:
    """What tells a drive from another: its logs, else its name."""
    logs = tuple(sorted(f.sha256 for f in result.inputs))
    return logs or (result.car, result.head.id)
