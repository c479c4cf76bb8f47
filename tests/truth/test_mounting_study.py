"""The short form of the mounting study: errors within what is asked for, and confidence that is kept."""

import numpy as np
import pytest

from tests.truth.mounting_drives import draw_mounted
from tests.truth.mounting_study import SURE, WRONG_DEG, Scored, score_drive

DRIVES = 12


@pytest.fixture(scope="module")
def scored() -> dict[str, list[Scored]]:
    return {
        knows: [score_drive(seed, draw_mounted(seed, knows=knows)) for seed in range(300, 300 + DRIVES)]
        for knows in ("gps", "bus", "gps and gyro", "gyro", "nothing")
    }


@pytest.mark.parametrize("knows", ["gps", "bus", "gps and gyro"])
def test_forward_within_three_degrees_where_speed_is_known(scored, knows: str) -> None:
    given = [s for s in scored[knows] if s.forward_deg is not None]
    assert len(given) >= DRIVES - 1
    assert np.percentile([s.forward_deg for s in given], 95) < 3.0


def test_up_within_a_degree_where_bends_and_speed_are_known(scored) -> None:
    # Without bends a sensor's bias of up to 0.3 m/s², drawn here, is 1.75° by itself; two axes more see through it.
    assert np.percentile([s.up_deg for s in scored["gps and gyro"]], 95) < 1.0


def test_sure_and_wrong_is_rare(scored) -> None:
    everyone = [s for some in scored.values() for s in some if s.forward_deg is not None]
    assert len(everyone) > 3 * DRIVES
    assert not [s for s in everyone if s.confidence > SURE and s.forward_deg > WRONG_DEG]


def test_confidence_is_kept(scored) -> None:
    everyone = [s for some in scored.values() for s in some if s.forward_deg is not None]
    right = np.mean([s.forward_deg <= 3 for s in everyone])
    assert right >= np.mean([s.confidence for s in everyone]) - 0.05


@pytest.mark.parametrize(("knows", "bank"), [("gps", 0.0), ("gps", 0.02), ("gps and gyro", 0.02)])
def test_bends_level_a_sensor_banked_or_not(knows: str, bank: float) -> None:
    """A bias of up to 0.3 m/s² and a crown lean gravity by a degree and a half; bends pull level."""
    drives = [
        draw_mounted(seed, style=style, knows=knows, minutes=8, bank=bank)
        for style in ("town", "country", "circuit")
        for seed in range(7000, 7006)
    ]
    off = [score_drive(0, drive).up_deg for drive in drives]
    assert np.percentile(off, 90) < 1.0 and np.median(off) < 0.5


@pytest.mark.parametrize("turn", [(0.0, 20.0, 0.0), (12.0, 12.0, 12.0)])
def test_a_slip_is_found_where_it_happened(turn: tuple[float, float, float]) -> None:
    for seed in range(3):
        drive = draw_mounted(seed, style="country", knows="gps and gyro", minutes=6, slip_deg=turn)
        found = score_drive(seed, drive)
        assert found.slip_s == pytest.approx(drive.slipped_at_s, abs=5.0)
        assert found.forward_deg < 3


def test_no_slip_is_invented(scored) -> None:
    assert not [s for some in scored.values() for s in some if s.slip_s is not None]
