"""What makes a figure unlike that of other drives: a knock felt elsewhere, millimetres of another scale."""

from collections.abc import Sequence

from shiftlog.compare.scales import has_other_scale, is_in_mm, why_other_scale
from shiftlog.measure.catalogue import Measure
from shiftlog.model.result import DriveResult, RecordingReport
from shiftlog.model.told import tell


def knock_recorders(result: DriveResult) -> list[RecordingReport]:
    """Recorders that can hear a knock; the gearbox's, which is measured where there are two, stands first."""
    able = [recorder for recorder in result.recordings if "knock" in recorder.can_measure]
    return sorted(able, key=lambda recorder: recorder.place != "gearbox")


def knock_place(result: DriveResult) -> str | None:
    """Where the recorder of the knocks sat, or None where none could hear them."""
    able = knock_recorders(result)
    return able[0].place if able else None


def find_unlike(measure: Measure, side: Sequence[DriveResult], other: Sequence[DriveResult]) -> list[str | None]:
    """For each drive of ``side``: why its figure is not like the others', or None."""
    if is_in_mm(measure) and has_other_scale((*side, *other)):
        return [why_other_scale() for _ in side]
    if not measure.key.startswith("knock"):
        return [None for _ in side]
    here, there = ({knock_place(r) for r in drives} - {None} for drives in (side, other))
    if len(here | there) <= 1:
        return [None for _ in side]
    shared = sorted(here & there)
    return [_why_unlike(knock_place(r), shared[0] if shared else None) for r in side]


def _why_unlike(place: str | None, shared: str | None) -> str | None:
    if place is None or place == shared:
        return None
    return tell(
        "left.felt_elsewhere", f"felt at the {place}, other drives elsewhere", place=tell(f"place.{place}", place)
    )
