"""Tests of several drives, where a copy of a folder must not count as further tries."""

from collections.abc import Sequence
from dataclasses import replace

from shiftlog.model.drive import Drive
from shiftlog.model.guided import GuidedResult

Told = tuple[str, GuidedResult]
"""The drive, and what one of its spans said."""
SAME = (
    "{drive} and {other} hold the same log ({log}), and this span overlaps that from {start:.1f} to {end:.1f} s there: "
    "these are the same tries, marked twice; they are no evidence beside one another"
)


def tell_each_once(measured: Sequence[tuple[Drive, Sequence[GuidedResult]]]) -> tuple[list[Told], list[GuidedResult]]:
    """All spans, those that repeat tries of an earlier drive with that doubt; and the results without these."""
    told: list[Told] = []
    once: list[GuidedResult] = []
    before: list[tuple[Drive, GuidedResult]] = []
    for drive, results in measured:
        for result in results:
            doubt = _same_tries(drive, result, before)
            if doubt is None:
                once.append(result)
            told.append((drive.head.id, result if doubt is None else replace(result, doubts=(*result.doubts, doubt))))
        before += [(drive, result) for result in results]
    return told, once


def _same_tries(drive: Drive, result: GuidedResult, before: Sequence[tuple[Drive, GuidedResult]]) -> str | None:
    logs = _logs(drive)
    for other, earlier in before:
        shared = logs.keys() & _logs(other).keys()
        if shared and result.start_s < earlier.end_s and earlier.start_s < result.end_s:
            return SAME.format(
                drive=drive.head.id, other=other.head.id, log=logs[min(shared)], start=earlier.start_s,
                end=earlier.end_s,
            )  # fmt: skip
    return None


def _logs(drive: Drive) -> dict[str, str]:
    """Each log's file by its sha256."""
    return {placed.recording.sha256: placed.recording.file for placed in drive.placed}
