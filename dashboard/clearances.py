"""What a drive's clearance test found of each gear, also where no setting of the cables follows from it."""

from dashboard.library import Library
from shiftlog.model.cables import CableAdvice, Clearance


def find_clearances(drive_id: str, library: Library) -> tuple[Clearance, ...]:
    """Those of the drive's clearance test; none where it holds no test that can be used."""
    result = library.result(drive_id)
    if result is None or not any(test.kind == "clearance" for test in result.tests):
        return ()
    advice = library.cables(drive_id)
    return advice.clearances if isinstance(advice, CableAdvice) else library.clearances(drive_id)
