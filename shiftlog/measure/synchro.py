"""The synchroniser index: how long a cone takes for a difference in speed, and whether quick hands crash through it."""

from collections.abc import Iterable, Sequence

import numpy as np
from scipy.stats import theilslopes

from shiftlog.measure.hand_share import without_hand
from shiftlog.measure.share import share_of
from shiftlog.measure.speed_difference import ENGINE, HUB, KEY, side_of
from shiftlog.measure.speeds import RATIO_SHARE
from shiftlog.model.car import Car
from shiftlog.model.reading import K95
from shiftlog.model.result import SynchroRow
from shiftlog.model.share import Share
from shiftlog.model.shift import Shift

SLOPE, CRASH = "synchro_slope_ms_per_krpm", "crash_through_share"
UP, DOWN = "up", "down"

COLD_C, HOT_C = 40.0, 60.0
"""Gear oil below the first is thick enough to drag and to wet a cone; above the second it hardly changes any more
(common practice, no source)."""
DIGITS = 6
"""Of a millisecond: what lies beyond is double precision, and would be read as a slope where there is none."""
LEAST_STOOD = 6
"""Fewer shifts give ten slopes between two of them, or less: no interval that means anything."""
LEAST_SPREAD_RPM = {HUB: 150.0, ENGINE: 250.0}
"""Standard deviation of the differences: over less, the hand's own spread (a few 10 ms) drowns the slope."""
COASTS_RPM = 40.0
"""How much more a shaft coasts before one push than before another: a tenth of a second, at 400 rpm a second. Where it
goes with the difference, as when a gear is skipped, it turns the line (common practice, no source)."""
QUICK_MMPS = 120.0
"""A hand this quick is through half the gate in an eighth of a second: no cone is done before it gets there (common
practice, no source)."""
STANDS_S = 0.03
"""A stand shorter than this is the lever's own turn from one push to the next (common practice, no source)."""
CRASHES = 0.05
"""What is heard wrongly, and a hand's odd mistake, stay below this share."""


def measure_synchro(shifts: Sequence[Shift], car: Car) -> tuple[SynchroRow, ...]:
    """One row for each gear entered, direction and temperature band, from shifts that are measured.

    Shifts with a pause, double-declutched, standing or rowed through other gears are no part of it. One drive has one
    driver: rows of two drives differ by their hands as well.
    """
    groups: dict[tuple[str, str, str], list[Shift]] = {}
    for shift in shifts:
        way = direction(shift)
        if way and is_plain(shift):
            key = (shift.to_gear, way, temperature_band(shift.value("gearbox_temp_c")))
            groups.setdefault(key, []).append(shift)
    return tuple(_row(key, some, car) for key, some in sorted(groups.items()))


def temperature_band(temp_c: float | bool | None) -> str:
    """The band of a gearbox temperature [°C]: shifts of two bands are never put together."""
    if temp_c is None:
        return "not known"
    return "cold" if temp_c < COLD_C else "hot" if temp_c >= HOT_C else "between"


def direction(shift: Shift) -> str | None:
    """``up`` or ``down``; None out of neutral, into reverse, or where a gear is not known."""
    old, new = shift.from_gear, shift.to_gear
    if not (old and new and old.isdecimal() and new.isdecimal()) or old == new:
        return None
    return UP if int(new) > int(old) else DOWN


def is_plain(shift: Shift) -> bool:
    """Whether a shift of the lever under way went in with no pause, no blip between and nothing via."""
    apart = shift.paused or shift.double_declutched or shift.standing or shift.via
    return not apart and shift.seen_by == "lever" and shift.outcome in ("clean", "second_push")


def _row(key: tuple[str, str, str], shifts: Sequence[Shift], car: Car) -> SynchroRow:
    gear, way, band = key
    stood = [s for s in shifts if s.outcome == "clean" and s.value("baulk_time_s") and s.value(KEY) is not None]
    side = side_of(car, gear)
    fitted = _fit_slope(stood, side) if stood else _why_none_stood(shifts)
    crash = _count_crashes(shifts)
    reasons = {SLOPE: fitted, CRASH: crash}
    known = {} if isinstance(fitted, str) else fitted
    share = crash if isinstance(crash, Share) else None
    return SynchroRow(
        gear=gear, direction=way, band=band, side=side, n=len(stood), shifts=tuple(s.number for s in shifts), **known,
        crash_through=share, reading=f"{_say(bool(known), share)}{_of_other_grinds(shifts)}",
        unmeasured={k: why for k, why in reasons.items() if isinstance(why, str)},
    )  # fmt: skip


def _why_none_stood(shifts: Iterable[Shift]) -> str:
    whys = [r.why for s in shifts for key in ("baulk_time_s", KEY) if (r := s.readings.get(key)) and r.why]
    return whys[0] if whys else "the lever stood before its cone in no shift of this kind; drive more of them, quickly"


def _fit_slope(stood: Sequence[Shift], side: str) -> dict | str:
    """Theil-Sen slope [ms per 1,000 rpm], its offset, uncertainty and 95 % interval (Sen 1968), or why there is none.

    The offset is left free. t = J Δω / T goes through the origin of the difference that the cone meets; what is known
    is the difference before the shaft coasted, and the part of the stand that counts as one: both shift the line, and
    neither turns it. A line forced through the origin would turn these into slope.
    """
    if len(stood) < LEAST_STOOD:
        shifts = "1 shift" if len(stood) == 1 else f"{len(stood)} shifts"
        return f"the lever stood in {shifts} of this kind; {LEAST_STOOD} are needed"
    krpm = np.abs([s.value(KEY) for s in stood]) / 1000
    stand_ms = 1000 * np.array([s.value("baulk_time_s") for s in stood])
    spread, doubt = float(np.std(krpm, ddof=1)), _doubt_krpm(stood)
    least = max(LEAST_SPREAD_RPM[side] / 1000, 2 * doubt)
    if spread < least:
        return (
            f"the speeds differed by much the same in all of them (spread {1000 * spread:.0f} rpm, {1000 * least:.0f} "
            "are needed); shift at high and at low engine speed"
        )
    slowness = np.array([1 / v if (v := s.value("approach_speed_mmps")) else np.nan for s in stood])
    stand_ms, u_hand = without_hand(krpm, stand_ms, slowness)
    fit = theilslopes(stand_ms, krpm, alpha=0.95)
    # The doubt of the differences: all wrong by one share, each by its own (it flattens a line), or by uneven coasting.
    shares = (RATIO_SHARE, (doubt / spread) ** 2, COASTS_RPM / 1000 / spread)
    own = np.hypot(abs(fit.slope) * np.linalg.norm(shares), u_hand)
    low = fit.slope - np.hypot(fit.slope - fit.low_slope, K95 * own)
    high = fit.slope + np.hypot(fit.high_slope - fit.slope, K95 * own)
    slope, offset, low, high = (round(float(v), DIGITS) for v in (fit.slope, fit.intercept, low, high))
    return {
        "slope_ms_per_krpm": slope, "offset_ms": offset, "interval95": (low, high),
        "u_ms_per_krpm": (high - low) / (2 * K95),
    }  # fmt: skip


def _doubt_krpm(stood: Sequence[Shift]) -> float:
    return float(np.median([s.readings[KEY].uncertainty or 0.0 for s in stood])) / 1000


def crashed_through(shift: Shift) -> bool | None:
    """Whether a quick shift went in with a burst and no stand; None where it was not quick or cannot be told."""
    speed, stand, grind = (shift.value(key) for key in ("approach_speed_mmps", "baulk_time_s", "grind"))
    if None in (speed, stand, grind) or speed < QUICK_MMPS:
        return None
    return bool(grind) and stand < STANDS_S


def _count_crashes(shifts: Sequence[Shift]) -> Share | str:
    told = [crash for s in shifts if (crash := crashed_through(s)) is not None]
    if told:
        return share_of(sum(told), len(told))
    whys = [r.why for s in shifts for key in ("baulk_time_s", "grind") if (r := s.readings.get(key)) and r.why]
    return whys[0] if whys else f"no shift of this kind was quick ({QUICK_MMPS:.0f} mm/s and more at the lever)"


def _of_other_grinds(shifts: Sequence[Shift]) -> str:
    """Grinds of a kind that are no crash-through, beside those that are."""
    other = sum(bool(s.value("grind")) and not crashed_through(s) for s in shifts)
    told = sum(s.value("grind") is not None for s in shifts)
    if not other:
        return ""
    return f"; {other} of {told} ground otherwise: by a slow hand, or after the lever had stood"


def _say(has_slope: bool, crash: Share | None) -> str:
    """What the two figures mean together. A short stand is told from a cone that grips no more by the burst alone."""
    if crash is not None and crash.low > CRASHES:
        return "quick shifts crash through: the cone may grip no more, and a shorter stand here is no improvement"
    if crash is None:
        heard = "whether quick shifts crash through is not known, so a shorter stand proves nothing"
    elif crash.k:
        heard = f"{crash.k} of {crash.n} quick shifts crashed through, too few to be sure"
    else:
        heard = f"none of {crash.n} quick shifts crashed through"
    return f"{heard}; a steeper slope than before is worse" if has_slope else f"{heard}; how steep it is, is not known"
