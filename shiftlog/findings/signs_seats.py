"""Rules about the seats: what torque does to the lever in each gear, and how far it travels."""

from shiftlog.findings.case import Case, Held, Rule
from shiftlog.model.seats import SeatFigures
from shiftlog.model.sign import AGAINST, FOR, OUTSIDE, UNKNOWN

MOVES_MM = 1.0
"""A lever that torque moves by less follows the engine in its mounts as a sound one does (common practice)."""
LEAST_GEARS = 3
CERTAIN = 2.0
"""Standard uncertainties beyond which a figure counts."""
NO_SEATS = "where the lever lies in its gears is not known from this drive"


def _moves_alike(case: Case) -> Held:
    """Torque moves the lever in every gear by about as much."""
    if case.seats is None:
        return UNKNOWN, NO_SEATS
    known = [s for s in case.seats.seats if s.torque_engage_mm.value is not None]
    if len(known) < LEAST_GEARS:
        return UNKNOWN, f"{len(known)} gears were driven under drive and overrun with nobody's hand on the lever; " \
                        f"{LEAST_GEARS} are needed"  # fmt: skip
    told = ", ".join(f"{s.gear} {_moved(s):+.1f} mm" for s in known)
    ways = {_moved(s) > 0 for s in known}
    return (FOR if all(_surely(s) for s in known) and len(ways) == 1 else AGAINST), f"from overrun to drive: {told}"


def _moved(seat: SeatFigures) -> float:
    return float(seat.torque_engage_mm.value or 0.0)


def _surely(seat: SeatFigures) -> bool:
    return abs(_moved(seat)) - CERTAIN * (seat.torque_engage_mm.uncertainty or 0.0) > MOVES_MM


def _short_everywhere(case: Case) -> Held:
    """Absolute travel is less than the profile says, in all planes together."""
    if case.seats is None:
        return UNKNOWN, NO_SEATS
    whole = case.seats.travel[-1] if case.seats.travel else None
    if whole is None or whole.short_mm.value is None:
        return UNKNOWN, whole.short_mm.why or NO_SEATS if whole else NO_SEATS
    short, u = float(whole.short_mm.value), CERTAIN * (whole.short_mm.uncertainty or 0.0)
    told = f"{float(whole.travel_mm.value or 0.0):.1f} of {whole.wanted_mm:.1f} mm from seat to seat (± {u:.1f})"
    return (FOR if short - u > MOVES_MM else AGAINST), told


RULES = (
    Rule(
        points_to=OUTSIDE, look=_moves_alike, says="The lever moves with torque, alike in every gear.",
        also_looks_like="a gear that walks out (then it is one gear and it does not come back)",
        next_test="engine and gearbox mounts by a pry bar, and the cables' anchors; then the jumping-out test",
    ),
    Rule(
        points_to=OUTSIDE, look=_short_everywhere, says="Travel is short in all planes.",
        also_looks_like="a lever of another length or ratio; a ruler laid elsewhere than the profile says",
        next_test="the ruler once more at the place the profile names, then free play by light push and pull",
    ),
)  # fmt: skip
