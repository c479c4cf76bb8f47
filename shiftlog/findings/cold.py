"""Trouble with a cold gearbox that is gone when it is warm."""

from collections.abc import Sequence

from shiftlog.findings.candidate import Candidate
from shiftlog.findings.chance import more_often, more_than_usual
from shiftlog.findings.gears import FISHER
from shiftlog.findings.of_trouble import candidate_of
from shiftlog.findings.trouble import Trouble, count
from shiftlog.measure.synchro import COLD_C, temperature_band
from shiftlog.model.car import Car
from shiftlog.model.shift import Shift

GONE = 0.05
"""Trouble as rare as this by chance, when warm, is not gone."""


def find_when_cold(shifts: Sequence[Shift], trouble: Trouble, car: Car) -> list[Candidate]:
    """More often below the cold limit than above it, and above it no more than usual."""
    known = [s for s in shifts if s.value("gearbox_temp_c") is not None]
    cold = count([s for s in known if _is_cold(s)], trouble)
    warm = count([s for s in known if not _is_cold(s)], trouble)
    p, least = more_often(cold.k, cold.n, warm.k, warm.n)
    gone = more_than_usual(warm.k, warm.n, trouble.usual)[0] > GONE
    what = (
        f"{trouble.noun} while the gearbox was below {COLD_C:.0f} °C: in {cold.words} shifts, against {warm.words} "
        "when it was warmer."
    )
    test = f"{FISHER}, {cold.n + warm.n} {trouble.told}"
    return [candidate_of(trouble, "cold", what, cold.bad, test, p=p, least=least, holds=gone and cold.k > 1)]


def _is_cold(shift: Shift) -> bool:
    return temperature_band(shift.value("gearbox_temp_c")) == "cold"
