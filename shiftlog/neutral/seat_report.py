"""What the seats of a car say, in a sentence or two, with what they cannot say."""

from collections.abc import Sequence

from shiftlog.measure.scene import Scene
from shiftlog.model.gate import GateMap
from shiftlog.model.reading import Reading
from shiftlog.model.result import DriveResult
from shiftlog.model.seats import SeatFigures, SeatReport, Travel
from shiftlog.neutral.seat_pool import pool_seats
from shiftlog.neutral.seat_travel import NEEDS_RULER, measure_travel
from shiftlog.neutral.seats import measure_seats

STANDS_OUT_MM = 1.0
"""A seat further off its place, a lever that moves further with torque, or travel shorter by it is worth a look (common
practice, no source)."""
CERTAIN = 2.0
"""And by so many standard uncertainties."""
NO_LEVER = "no lever was logged: fit a sensor to it to see its seats"
ALIKE_LEAST = 3
"""Fewer gears than this are named one by one."""
AT_KNOB = (
    "the profile's travel holds at the knob: a ruler laid anywhere else gives another scale, and this shortfall with it"
)


def report_drive(scene: Scene, result: DriveResult) -> SeatReport | str:
    """Seats of one measured drive, or why there are none."""
    if result.gate is None or scene.path is None:
        return result.gate_why or NO_LEVER
    seats = measure_seats(scene.path, result.gate, scene.signals, result.shifts, tests=result.tests)
    return report_seats([seats], result.gate)


def report_seats(found: Sequence[tuple[SeatFigures, ...]], gate: GateMap) -> SeatReport:
    """Seats of one or several drives of one fitting; gate : the map of the last of them."""
    seats = pool_seats(found, gate.layout.gears)
    travel = measure_travel(seats, gate.layout, scale=gate.scale)
    return SeatReport(
        seats=seats, travel=travel, scale=gate.scale, answer=_answer(seats, travel), notes=_notes(seats, gate, travel)
    )


def stands_out(reading: Reading) -> bool:
    """Whether a figure in mm is large enough to be looked at, beyond what is uncertain."""
    if reading.value is None:
        return False
    beyond = abs(float(reading.value)) - CERTAIN * (reading.uncertainty or 0.0)
    return abs(float(reading.value)) > STANDS_OUT_MM and beyond > 0


def say_off(seat: SeatFigures) -> list[str]:
    """How a seat lies off its place, in words; nothing where it does not stand out."""
    ways = {"short": "short of", "deep": "deeper than", "right": "to the right of", "left": "to the left of"}
    return [f"{seat.gear} lies {mm:.1f} mm {ways[way]} its place" for mm, way in find_off(seat)]


def find_off(seat: SeatFigures) -> list[tuple[float, str]]:
    """(mm, ``short`` | ``deep`` | ``right`` | ``left``) where a seat stands out off its place."""
    found = []
    axes = ((seat.off_engage_mm, seat.way, ("short", "deep")), (seat.off_select_mm, 1, ("left", "right")))
    for reading, sign, names in axes:
        if stands_out(reading):
            mm = float(reading.value or 0.0) * sign
            found.append((abs(mm), names[mm > 0]))
    return found


def _answer(seats: tuple[SeatFigures, ...], travel: tuple[Travel, ...]) -> tuple[str, ...]:
    return tuple(line for line in (_say_seats(seats), _say_moves(seats), _say_travel(travel)) if line)


def _say_seats(seats: tuple[SeatFigures, ...]) -> str:
    known = [s for s in seats if s.off_engage_mm.value is not None]
    if not known:
        return "Where the lever lies in its gears cannot be told from this drive: see the reasons in the table."
    everywhere = _say_everywhere(known)
    if everywhere:
        return everywhere
    off = [line for seat in known for line in say_off(seat)]
    if not off:
        return _say_none_off(known)
    rest = "; the others lie where they should" if len(off) < len(known) else ""
    return f"{', '.join(off)}{rest}."


def _say_none_off(known: list[SeatFigures]) -> str:
    """Nothing stands out, which is not to say that nothing could be off."""
    open_ones = [s.gear for s in known if _may_stand_out(s.off_engage_mm) or _may_stand_out(s.off_select_mm)]
    if not open_ones:
        return f"Every gear seen lies within {STANDS_OUT_MM:.0f} mm of its place."
    gears = ", ".join(open_ones[:-1]) + " and " + open_ones[-1] if len(open_ones) > 1 else open_ones[0]
    return f"No gear stands out off its place; in {gears} this drive cannot tell {STANDS_OUT_MM:.0f} mm for sure."


def _may_stand_out(reading: Reading) -> bool:
    return abs(float(reading.value or 0.0)) + CERTAIN * (reading.uncertainty or 0.0) > STANDS_OUT_MM


def _say_everywhere(known: list[SeatFigures]) -> str:
    """Where all gears lie short, or deep, alike."""
    depths = [float(s.off_engage_mm.value or 0.0) * s.way for s in known]
    alike = all(stands_out(s.off_engage_mm) for s in known) and (max(depths) < 0 or min(depths) > 0)
    if not alike or len(known) < ALIKE_LEAST:
        return ""
    low, high = sorted(abs(d) for d in (min(depths), max(depths)))
    return (
        f"All gears lie {'short of' if depths[0] < 0 else 'deeper than'} their places, by {low:.1f} to {high:.1f} mm."
    )


def _say_moves(seats: tuple[SeatFigures, ...]) -> str:
    known = [s for s in seats if s.torque_engage_mm.value is not None]
    if not known:
        return "How far torque moves the lever cannot be told from this drive."
    most = max(known, key=lambda s: abs(float(s.torque_engage_mm.value or 0.0)))
    mm, low_high = float(most.torque_engage_mm.value or 0.0), most.torque_engage_mm.interval95 or (0.0, 0.0)
    way = "forward" if mm > 0 else "rearward"
    if low_high[0] <= 0 <= low_high[1]:
        return "Between overrun and drive the lever moves by no more than is uncertain."
    return f"From overrun to drive it moves {way} by up to {abs(mm):.1f} mm ({most.gear})."


def _say_travel(travel: tuple[Travel, ...]) -> str:
    whole = travel[-1]
    if whole.travel_mm.value is None:
        return "Travel that is short everywhere cannot be seen here." if whole.travel_mm.why == NEEDS_RULER else ""
    short, u = float(whole.short_mm.value or 0.0), CERTAIN * (whole.short_mm.uncertainty or 0.0)
    stands = f"Travel is {float(whole.travel_mm.value):.1f} mm of {whole.wanted_mm:.1f}"
    if abs(short) <= max(u, STANDS_OUT_MM):
        return f"{stands}, which is what the profile says within {max(u, STANDS_OUT_MM):.1f} mm."
    return f"{stands}: {abs(short):.1f} mm {'short' if short > 0 else 'more than it should be'} (± {u:.1f} mm)."


def _notes(seats: tuple[SeatFigures, ...], gate: GateMap, travel: tuple[Travel, ...]) -> tuple[str, ...]:
    notes = [NEEDS_RULER] if gate.scale != "absolute" else []
    short = travel[-1].short_mm.value
    if short is not None and abs(float(short)) > STANDS_OUT_MM and gate.layout.travel_at == "knob":
        notes.append(AT_KNOB)
    held = [s.gear for s in seats if s.hand_only]
    if held:
        notes.append(f"in {' and '.join(held)} a hand was on the lever whenever it could be read")
    return tuple(notes)
