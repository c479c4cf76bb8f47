"""How figures and names are written: units, digits, gears, outcomes. Labels come from the catalogue."""

import math

from dashboard.routes import KMH, MPH
from shiftlog.measure.catalogue import MEASURES
from shiftlog.model.reading import Reading
from shiftlog.model.shift import Shift
from shiftlog.units import MPS_PER_KMH, MPS_PER_MPH

NOTHING = "–"
THIN = "\N{NO-BREAK SPACE}"
"""Between a number and its unit, so that a line never breaks there."""
OUTCOMES = {
    "clean": "clean",
    "second_push": "second push",
    "missed": "refused",
    "wrong_gear": "wrong gear",
    "out_and_back": "out and back",
    "jumped_out": "jumped out",
    "to_neutral": "to neutral",
}
OUTCOMES_MEAN = {
    "second_push": "went in, but only at a further push",
    "missed": "the gear refused and the lever went back",
    "wrong_gear": "a wrong gear was left again at once",
    "out_and_back": "out to neutral and back into the same gear",
    "jumped_out": "the gear was left with no hand on the lever",
    "to_neutral": "ends in neutral, so it has no times",
}
OUTCOMES_COUNTED = {
    "clean": ("clean", "clean"),
    "second_push": ("second push", "second pushes"),
    "missed": ("refused", "refused"),
    "wrong_gear": ("into a wrong gear", "into a wrong gear"),
    "out_and_back": ("out and back", "out and back"),
    "jumped_out": ("jumped out", "jumped out"),
    "to_neutral": ("to neutral", "to neutral"),
}
PLACES = {
    "lever": "lever",
    "tower": "shift tower",
    "gearbox": "gearbox",
    "body": "body",
    "engine": "engine",
    "pedal": "pedals",
}
_MPS = {KMH: MPS_PER_KMH, MPH: MPS_PER_MPH}
_STEPS = {"s": 0.01, "rpm": 10.0, "mm": 0.1, "mm/s": 1.0, "°C": 1.0, KMH: 1.0, MPH: 1.0}


def label(key: str) -> str:
    """The catalogue's name of a measure; the key itself where the catalogue lacks it."""
    return MEASURES[key].label if key in MEASURES else key.replace("_", " ")


def unit(key: str) -> str:
    """The catalogue's unit of a measure, "" where there is none."""
    return MEASURES[key].unit if key in MEASURES else ""


def speed_value(speed_mps: float, speed_unit: str) -> float:
    """A speed in km/h or mph."""
    return speed_mps / _MPS[speed_unit]


def number(value: float, *, step: float | None = None, digits: int = 3) -> str:
    """A number with so many significant digits at most, no finer than ``step``, and a true minus sign."""
    if value == 0 or (step is not None and abs(value) < step / 2):
        return "0"
    places = _places(value, step, digits)
    places = _places(round(value, places) or value, step, digits)  # 9.996 becomes 10.0, not 10.00
    return f"{round(value, places):.{max(places, 0)}f}".replace("-", "−")


def _places(value: float, step: float | None, digits: int) -> int:
    places = digits - 1 - math.floor(math.log10(abs(value)))
    return places if step is None else min(places, -math.floor(math.log10(step)))


def figure(value: float | bool | None, unit_name: str) -> str:
    """A figure with its unit, or a dash where there is none."""
    if value is None:
        return NOTHING
    if isinstance(value, bool):
        return "yes" if value else "no"
    text = number(float(value), step=_STEPS.get(unit_name))
    return f"{text}{THIN}{unit_name}" if unit_name else text


def speed(speed_mps: float | None, speed_unit: str) -> str:
    """A speed with its unit, or a dash."""
    return NOTHING if speed_mps is None else figure(speed_value(speed_mps, speed_unit), speed_unit)


def value(key: str, given: float | bool | None, speed_unit: str = KMH) -> str:
    """A measure's value with its unit, speeds as the user likes them."""
    if unit(key) == "m/s" and given is not None and not isinstance(given, bool):
        return speed(given, speed_unit)
    return figure(given, unit(key))


SIDES = {"hub": "at the hub", "engine": "at the engine"}
"""Where along the driveline a difference in speed is taken."""


def bare(key: str, given: float | bool | None) -> str:
    """A measure's value without its unit, for a table whose head names it."""
    return value(key, given).removesuffix(unit(key)).removesuffix(THIN)


def margin_of(reading: Reading, speed_unit: str = KMH) -> str:
    """What is known of a reading's error, as an interval or ±, or an empty text."""
    name = speed_unit if unit(reading.key) == "m/s" else unit(reading.key)
    if reading.interval95 is not None:
        low, high = (number(_as_shown(reading.key, v, speed_unit)) for v in reading.interval95)
        return f"95{THIN}%: {low} to {high}{THIN}{name}".rstrip(THIN)
    return "" if reading.uncertainty is None else plus_minus(reading, speed_unit) + " (k = 1)"


def plus_minus(reading: Reading, speed_unit: str = KMH) -> str:
    """A reading's standard uncertainty as ± with its unit, or an empty text."""
    if reading.uncertainty is None:
        return ""
    name = speed_unit if unit(reading.key) == "m/s" else unit(reading.key)
    # Two digits are what an uncertainty is worth (JCGM 100:2008, 7.2.6).
    size = number(_as_shown(reading.key, reading.uncertainty, speed_unit), digits=2)
    return f"± {size}{THIN}{name}".rstrip(THIN)


def how_sure(reading: Reading, speed_unit: str = KMH) -> str:
    """All that is known of a reading's error: ± one standard uncertainty, then the interval."""
    interval = margin_of(reading, speed_unit) if reading.interval95 is not None else ""
    return "; ".join(text for text in (plus_minus(reading, speed_unit), interval) if text)


def _as_shown(key: str, given: float, speed_unit: str) -> float:
    return speed_value(given, speed_unit) if unit(key) == "m/s" else given


def clock(time_s: float | None) -> str:
    """Drive time as minutes and seconds: 12:03.4."""
    if time_s is None:
        return NOTHING
    sign, tenths = ("−" if time_s < 0 else ""), round(abs(time_s) * 10)
    return f"{sign}{tenths // 600}:{tenths % 600 // 10:02d}.{tenths % 10}"


def change(shift: Shift) -> str:
    """From and to: 2 → 3, gears passed through between them; or that no gear of it is known."""
    gears = (shift.from_gear, *shift.via, shift.to_gear)
    return " → ".join(gear or "?" for gear in gears) if any(gears) else "gear unknown"


def sure(shift: Shift) -> str:
    """How sure it is that a shift is one, where that is not certain; else a dash."""
    return NOTHING if shift.confidence is None else percent(shift.confidence)


def outcome(shift: Shift) -> str:
    """The outcome in words; a change seen in the drive has none."""
    return OUTCOMES[shift.outcome] if shift.outcome else "not seen without a lever"


def count(n: int, one: str, many: str | None = None) -> str:
    """``1 shift``, ``3 shifts``."""
    return f"{n} {one if n == 1 else many or one + 's'}"


def percent(share: float) -> str:
    """A share as whole per cent."""
    return f"{share * 100:.0f}{THIN}%"


def sentence_list(parts: list[str]) -> str:
    """a, b and c."""
    return parts[0] if len(parts) == 1 else ", ".join(parts[:-1]) + " and " + parts[-1] if parts else ""


def visit(stage: str | None) -> str:
    """The name of a visit."""
    return stage or "no stage named"
