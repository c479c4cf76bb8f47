"""Numbers of options that no car can have are refused as they are read."""

import argparse
from collections.abc import Callable

import pytest

from shiftlog.commands.option_types import cable_mm, finite, positive, speed_kmh, turns


@pytest.mark.parametrize(
    ("read", "text"),
    [
        (speed_kmh, "1e308"), (speed_kmh, "nan"), (speed_kmh, "0"), (turns, "1e9"), (turns, "-1e9"), (turns, "inf"),
        (cable_mm, "101"), (cable_mm, "much"), (finite, "nan"), (positive, "-1"),
    ],
)  # fmt: skip
def test_it_is_refused_with_what_was_typed(read: Callable[[str], float], text: str) -> None:
    with pytest.raises(argparse.ArgumentTypeError, match=text):
        read(text)


@pytest.mark.parametrize(
    ("read", "text", "value"), [(speed_kmh, "120", 120.0), (turns, "-0.75", -0.75), (cable_mm, "1.5", 1.5)]
)
def test_what_can_be_is_read(read: Callable[[str], float], text: str, value: float) -> None:
    assert read(text) == value
