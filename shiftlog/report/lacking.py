"""Why a figure is on no page: what its family needs of the logs, and what stood in the way."""

from collections.abc import Mapping, Sequence

from shiftlog.measure.capability import judge_reports
from shiftlog.model.result import DriveResult, Unable
from shiftlog.model.told import Told, tell

FAMILY: Mapping[str, str] = {
    "refused_share": "shift, neutral and baulk times", "wrong_plane_share": "neutral rest",
    "shift_time_s": "shift, neutral and baulk times", "baulk_time_s": "shift, neutral and baulk times",
    "drive_gap_s": "drive gap", "knock_peak_mps2": "knock", "grind": "grind", "jerk_p2p_mps3": "driveline clunk",
    "vdv_mps175": "felt dose",
}  # fmt: skip
"""The family of figures, as what it needs is listed, of each figure a client is told of."""
SENSOR: Mapping[str, str] = {
    "shift, neutral and baulk times": "lever", "neutral rest": "lever", "drive gap": "body", "knock": "gearbox",
    "grind": "gearbox", "driveline clunk": "body", "felt dose": "body",
}  # fmt: skip
"""Where the sensor sits that a family takes."""
_PER_DRIVE = {"refused_share", "wrong_plane_share"}
_KINDS = ("absent", "elsewhere", "partial", "clock", "partner", "rate", "axes", "engine speed", "profile", "gate")
"""What may stand in the way, as ``Unable`` names it."""


def why_missing(results: Sequence[DriveResult], measure: str) -> Told | None:
    """What kept a figure out of all of these drives; None where they say nothing of it.

    The English text is the commonest reason that measuring gave.
    """
    unable = [_unable(result, FAMILY[measure]) for result in results]
    kinds = [one.kind for one in unable if one is not None and one.kind in _KINDS]
    said = _commonest(_said(results, measure)) or _commonest([one.why for one in unable if one is not None])
    if not kinds:
        return tell("lacking.untold", said) if said else None
    kind = max(kinds, key=kinds.count)
    place = SENSOR[FAMILY[measure]]
    sensor = tell(f"sensor.{place}", f"sensor at the {place}")
    return tell(f"lacking.{kind.replace(' ', '_')}", said or f"not from these logs: {kind}", sensor=sensor)


def _unable(result: DriveResult, family: str) -> Unable | None:
    """Why a drive does not give a family, or None where it does."""
    found = judge_reports(result.recordings, gate_why=result.gate_why).cannot
    return next((one for one in found if one.name == family), None)


def _said(results: Sequence[DriveResult], measure: str) -> list[str]:
    if measure in _PER_DRIVE:
        told = [r.summary.unmeasured.get("wrong_plane") or r.gate_why for r in results]
    else:
        told = [s.readings[measure].why for r in results for s in r.shifts if measure in s.readings]
    return [why for why in told if why]


def _commonest(said: Sequence[str]) -> str | None:
    return max(said, key=said.count) if said else None
