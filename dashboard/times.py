"""Instants of a drive, and what else a mark carries, as people type them."""

import re

_TIME = re.compile(r"^(?:(\d{1,2}):)?(?:(\d{1,3}):)?(\d+(?:[.,]\d+)?)$")
RIGHT = "write seconds (95.2) or minutes and seconds (1:35.2)"


def read_time(text: str | None, *, name: str) -> float:
    """Seconds of drive time from ``95.2``, ``1:35.2`` or ``1:02:03``. ValueError, in one line, where it is none."""
    given = (text or "").strip().removesuffix("s").strip()
    if not given:
        raise ValueError(f"{name}: nothing is given; {RIGHT}")
    sign, plain = (-1.0, given[1:]) if given[0] in "-−" else (1.0, given)
    match = _TIME.match(plain)
    if match is None:
        raise ValueError(f"{name}: “{given}” is no time; {RIGHT}")
    first, second, seconds = match.groups()
    hours, minutes = (first, second) if second is not None else (None, first)
    return sign * (int(hours or 0) * 3600 + int(minutes or 0) * 60 + float(seconds.replace(",", ".")))


def read_waits(text: str | None) -> tuple[float, ...]:
    """Seconds from ``10 5 3`` or ``10; 5; 2,5``; none from nothing. ValueError, in one line, where one is no number."""
    waits = []
    for word in re.split(r"[\s;]+|,\s+", (text or "").strip().removesuffix("s").strip()):
        try:
            waits += [float(word.replace(",", "."))] if word else []
        except ValueError:
            raise ValueError(f"waits: “{word}” is no number of seconds; write them with spaces, as 10 5 3") from None
    return tuple(waits)


def read_temperature(text: str | None) -> float | None:
    """°C from ``82`` or ``82,5 °C``; None from nothing. ValueError, in one line, where it is no number."""
    given = (text or "").strip().removesuffix("C").removesuffix("c").removesuffix("°").strip()
    try:
        return float(given.replace(",", ".").replace("−", "-")) if given else None
    except ValueError:
        raise ValueError(f"gearbox: “{given}” is no temperature; write degrees Celsius, as 82") from None


def write_time(time_s: float) -> str:
    """Seconds as they are typed, to the hundredth: finer than a hand marks."""
    return f"{time_s:.2f}"
