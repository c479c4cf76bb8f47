"""Gear-mesh frequency f = z · n / 60 against published worked examples (reference values, section 5).

The clash of dog teeth is the same count with the speed *difference* of the two halves: f = z · |Δn| / 60. That is
derived here; no published worked example of it was found.
"""

import numpy as np
import pytest

from shiftlog.measure.clash import ClashRange, find_clash_range, match_clash, tooth_hz
from tests.measure.clashing import Gearbox


@pytest.mark.parametrize(
    ("teeth", "rpm", "mesh_hz"),
    [
        # axiscalc.com, gear mesh frequency calculator: 1,500 rpm, 24 teeth: 36,000 cpm, 600 Hz.
        (24, 1500.0, 600.0),
        # calculator.7search.cc: 1,500 rpm, 20 teeth: 30,000 cpm, 500 Hz.
        (20, 1500.0, 500.0),
        # calculator.academy, gear mesh frequency calculator: 300 rpm, 20 teeth: 6,000 cpm, 100 Hz.
        (20, 300.0, 100.0),
    ],
)
def test_mesh_frequency_of_published_examples(teeth: int, rpm: float, mesh_hz: float) -> None:
    """Exact: the examples are whole numbers."""
    assert tooth_hz(teeth, rpm) == pytest.approx(mesh_hz, rel=1e-12)


def test_the_clash_of_dogs_has_no_published_example() -> None:
    """Derived: 36 teeth at 600 rpm of difference pass at 360 Hz, at −600 rpm too; 1,067 rpm is 640 Hz."""
    assert tooth_hz(36, 600.0) == tooth_hz(36, -600.0) == pytest.approx(360.0)
    assert tooth_hz(36, 1066.7) == pytest.approx(0.4 * 1600, abs=0.1)


def test_a_tone_that_falls_to_nothing_lies_on_the_track_while_it_is_heard() -> None:
    """A chirp of closed form from 600 Hz to 0 in 0.2 s: nearly all its energy above the band's edge lies on a track."""
    rate_hz = 3200.0
    time_s = np.arange(0, 0.15, 1 / rate_hz)
    chirp = np.sin(2 * np.pi * (600 * time_s - 1500 * time_s**2))
    share = match_clash(chirp[:, None], rate_hz, ClashRange(from_hz=600.0), low_hz=150, top_hz=1280)
    assert share > 0.9
    allowed = find_clash_range(Gearbox(seed=1).shifts[0], Gearbox(seed=1).scene())
    assert allowed.from_hz == pytest.approx(tooth_hz(36, (3900 - 2805) / 1.4))
