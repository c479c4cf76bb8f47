"""Trouble with a cold gearbox that is gone when it is warm."""

from collections.abc import Sequence

from shiftlog.compare.cold_stretch import MINUTES, ColdStretch
from shiftlog.findings.candidate import Candidate
from shiftlog.findings.chance import more_often
from shiftlog.findings.gears import FISHER
from shiftlog.findings.of_trouble import candidate_of, no_more_than_usual
from shiftlog.findings.trouble import Trouble, count
from shiftlog.measure.synchro import COLD_C, temperature_band
from shiftlog.model.shift import Shift


def find_when_cold(shifts: Sequence[Shift], trouble: Trouble, stretch: ColdStretch | None) -> Candidate:
    """More often while the gearbox was cold than later, and later no more than usual: by temperature or by minutes."""
    by_minutes = stretch is not None and stretch.by == MINUTES
    if by_minutes:
        known, is_cold = shifts, lambda shift: shift.start_s < stretch.end_s
        when, later = f"in the first {stretch.end_s / 60:.0f} minutes of a drive that began cold", "later"
    else:
        known, is_cold = [s for s in shifts if s.value("gearbox_temp_c") is not None], _is_cold
        when, later = f"while the gearbox was below {COLD_C:.0f} °C", "when it was warmer"
    cold = count([s for s in known if is_cold(s)], trouble)
    warm = count([s for s in known if not is_cold(s)], trouble)
    p, least = more_often(cold.k, cold.most, warm.k, warm.n)
    what = f"{trouble.noun} {when}: in {cold.words} shifts, against {warm.words} {later}."
    test = f"{FISHER}, {cold.n + warm.n} {trouble.told}"
    holds = no_more_than_usual(warm, trouble) and cold.k > 1
    return candidate_of(trouble, "cold", what, cold.bad, test, p=p, least=least, holds=holds, hides=("all",))


def _is_cold(shift: Shift) -> bool:
    return temperature_band(shift.value("gearbox_temp_c")) == "cold"
