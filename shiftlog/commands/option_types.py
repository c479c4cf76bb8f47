"""Values of options, checked as they are read. Light: no numerical library."""

import argparse
import math

LARGEST_PORT = 65535
FASTEST_KMH = 1000.0
MOST_TURNS, MOST_CABLE_MM = 100.0, 100.0
"""Beyond any car, any adjuster's thread and any clamp: what is typed was meant otherwise."""


def positive(text: str) -> float:
    """A finite number above 0."""
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not (math.isfinite(value) and value > 0):
        raise argparse.ArgumentTypeError(f"{text!r} is no number above 0")
    return value


def finite(text: str) -> float:
    """A finite number of either sign."""
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise argparse.ArgumentTypeError(f"{text!r} is no number")
    return value


def speed_kmh(text: str) -> float:
    """A speed of a car."""
    value = positive(text)
    if value > FASTEST_KMH:
        raise argparse.ArgumentTypeError(f"{text!r} is no speed of a car; give km/h, up to {FASTEST_KMH:g}")
    return value


def turns(text: str) -> float:
    """What an adjuster was turned."""
    return _up_to(text, MOST_TURNS, "turns of an adjuster")


def cable_mm(text: str) -> float:
    """How far a cable was moved."""
    return _up_to(text, MOST_CABLE_MM, "mm that a cable is moved by")


def _up_to(text: str, most: float, what: str) -> float:
    value = finite(text)
    if abs(value) > most:
        raise argparse.ArgumentTypeError(f"{text!r} is beyond all {what}; give {-most:g} to {most:g}")
    return value


def port(text: str) -> int:
    """A port to serve on; 0 lets the system choose."""
    if not (text.isascii() and text.isdigit() and int(text) <= LARGEST_PORT):
        raise argparse.ArgumentTypeError(f"{text!r} is no port; ports run from 0 to {LARGEST_PORT}")
    return int(text)
