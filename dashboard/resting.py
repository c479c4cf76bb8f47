"""Where the lever rested in a drive, or in all drives of its visit, as the workshop's results have it."""

from dashboard.library import Library
from dashboard.visits import drives_of_visit
from shiftlog.errors import CannotMeasure
from shiftlog.model.neutral import NeutralReport
from shiftlog.neutral.report import report_neutral

NOT_MEASURED = "The drive is not measured yet, or its logs cannot be read any more."


def read_neutral(library: Library, drive_id: str, *, whole_visit: bool) -> NeutralReport | str:
    """The rests of one drive or of its visit, or why nothing can be said of them."""
    drives = drives_of_visit(library, drive_id) if whole_visit else (drive_id,)
    measured = [result for one in drives if (result := library.result(one)) is not None]
    car = library.drive_car(drive_id)
    if car is None or not measured:
        return NOT_MEASURED
    try:
        return report_neutral(measured, car)
    except CannotMeasure as why:
        return str(why)
