"""Values of options, checked as they are read. Light: no numerical library."""

import argparse
import math

LARGEST_PORT = 65535


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


def port(text: str) -> int:
    """A port to serve on; 0 lets the system choose."""
    if not (text.isascii() and text.isdigit() and int(text) <= LARGEST_PORT):
        raise argparse.ArgumentTypeError(f"{text!r} is no port; ports run from 0 to {LARGEST_PORT}")
    return int(text)
