"""Where the lever lies in each gear, how the gear pulls it about, and how far the gate lets it travel."""

from dataclasses import dataclass

from shiftlog.model.reading import Reading

DRIVE, OVERRUN = "drive", "overrun"


@dataclass(frozen=True, eq=False, kw_only=True)
class SeatFigures:
    """One gear over one or several drives, in gate mm.

    way : +1 for a gear that lies forward, −1 for one that lies rearward; plane : name of its plane
    stays : how many times the lever lay there long enough to be read; drives : in how many drives; in_gear_s : for how
    long it was in this gear
    select_mm, engage_mm : where the lever lies when let go; hand_only : it could be read with a hand on it alone, and
    those two are where it lay under the hand
    spread : (2, 2) covariance of one stay against another, select first [mm²], or None with one or two stays
    off_select_mm, off_engage_mm : distance from its place in the lattice
    torque_engage_mm, torque_select_mm : how far it moves from overrun to drive; torque_by : what told the two apart
    torque_span_mps2 : between which pulls [m/s²], or None where that was not told
    at_drive, at_overrun : (select, engage) under either, or None
    depth_mm : from the neutral line to where it lies, missing without a ruler
    hand_share : share of its time in gear with a hand felt on the lever
    """

    gear: str
    plane: str
    way: int
    stays: int
    drives: int
    in_gear_s: float
    select_mm: Reading
    engage_mm: Reading
    hand_only: bool
    spread: tuple[tuple[float, float], tuple[float, float]] | None
    off_select_mm: Reading
    off_engage_mm: Reading
    torque_engage_mm: Reading
    torque_select_mm: Reading
    torque_by: str | None
    torque_span_mps2: float | None
    at_drive: tuple[float, float] | None
    at_overrun: tuple[float, float] | None
    depth_mm: Reading
    hand_share: Reading

    @property
    def place(self) -> tuple[float, float] | None:
        """(select, engage) where it lies [mm], or None."""
        if self.select_mm.value is None or self.engage_mm.value is None:
            return None
        return float(self.select_mm.value), float(self.engage_mm.value)


@dataclass(frozen=True, eq=False, kw_only=True)
class Travel:
    """How far the lever goes from the rearward to the forward seat of a plane, or of all planes together.

    plane : its name, or None for all; travel_mm : measured; wanted_mm : by the profile; short_mm : how much is missing,
    negative where there is more
    """

    plane: str | None
    wanted_mm: float
    travel_mm: Reading
    short_mm: Reading


@dataclass(frozen=True, eq=False, kw_only=True)
class SeatReport:
    """Seats of all gears by the order of the gate, travel plane by plane with all together last, and what to say.

    scale : ``absolute`` | ``relative``; answer : one or two sentences; notes : what the figures do not show
    """

    seats: tuple[SeatFigures, ...]
    travel: tuple[Travel, ...]
    scale: str
    answer: tuple[str, ...]
    notes: tuple[str, ...] = ()
