"""Whether a quick shift crashed through its cone, shift by shift, and the shares of a drive with their reasons."""

from collections.abc import Callable, Sequence
from dataclasses import replace

from shiftlog.measure.share import share_of
from shiftlog.measure.synchro import QUICK_MMPS, crashed_through
from shiftlog.model.car import NEUTRAL
from shiftlog.model.reading import Reading, measured, unmeasured
from shiftlog.model.result import Summary
from shiftlog.model.share import Share
from shiftlog.model.shift import Shift

KEY = "crash_through"
GRINDS, CRASHES = "grind_share", "crash_through_share"


def measure_crash_through(shift: Shift) -> Reading:
    """Whether it did, from a shift whose other figures are measured."""
    crashed = crashed_through(shift)
    if crashed is not None:
        return measured(KEY, crashed)
    for key in ("grind", "baulk_time_s", "approach_speed_mmps"):
        reading = shift.readings.get(key)
        if reading is None or reading.why is not None:
            return unmeasured(KEY, reading.why if reading else "the sensors of this drive cannot show it")
    return unmeasured(KEY, f"the hand was slow: under {QUICK_MMPS:.0f} mm/s a lever goes in behind its cone anyhow")


def add_shares(summary: Summary, shifts: Sequence[Shift]) -> Summary:
    """A drive's summary with its shares of grinds and of crash-throughs under way, or why there are none."""
    under_way = [s for s in shifts if s.seen_by == "lever" and not s.standing and s.to_gear not in (None, NEUTRAL)]
    grinds = _share(under_way, lambda s: s.value("grind"), "grind")
    crashes = _share(under_way, lambda s: s.value(KEY), KEY)
    whys = {key: why for key, why in ((GRINDS, grinds), (CRASHES, crashes)) if isinstance(why, str)}
    return replace(
        summary,
        grinds=grinds if isinstance(grinds, Share) else None,
        crash_throughs=crashes if isinstance(crashes, Share) else None,
        unmeasured={**summary.unmeasured, **whys},
    )


def _share(shifts: Sequence[Shift], said: Callable[[Shift], float | bool | None], key: str) -> Share | str:
    told = [bool(one) for s in shifts if (one := said(s)) is not None]
    if told:
        return share_of(sum(told), len(told))
    whys = [r.why for s in shifts if (r := s.readings.get(key)) and r.why]
    return whys[0] if whys else "no shift under way was seen by the lever"
