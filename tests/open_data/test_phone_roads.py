"""A phone on three roads, with neither engine speed nor lever (shared data, folder phone-roads; see its SOURCE.txt).

Nobody wrote down when gears were changed, so what can be held here is what must not be claimed.
"""

from pathlib import Path

import numpy as np
import pytest

from shiftlog.ingest.add_options import AddOptions
from shiftlog.model.result import DriveResult
from shiftlog.model.settings import Settings
from shiftlog.signal.filter import low_pass

pytestmark = pytest.mark.open_data

REACH_S, BLOW_MPS2, HARD_HZ = 0.3, 4.0, 5.0
"""A wheel in a pothole gives the body 4 m/s² and more above 5 Hz (common practice, no source)."""

ROADS = ("q1", "q2", "q3")


@pytest.fixture(scope="module")
def roads(open_data: Path, measure) -> dict[str, tuple[Path, DriveResult]]:
    folder = open_data / "phone-roads"
    found = {}
    for road in ROADS:
        logs = sorted(folder.glob(f"rsq_{road}_00_*.csv"))
        assert len(logs) >= 2
        found[road] = folder / f"rsq_{road}_00_Accelerometer.csv", measure(logs, "12345R", AddOptions())
    return found


def read_axes(log: Path) -> tuple[np.ndarray, np.ndarray]:
    """Time from the first sample (n,) and acceleration (n, 3), read without the product."""
    table = np.genfromtxt(log, delimiter=",", skip_header=1)[:, :4]
    table = table[np.isfinite(table).all(axis=1)]
    return table[:, 0] - table[0, 0], table[:, 1:]


@pytest.mark.parametrize("road", ROADS)
def test_the_mounting_is_found_or_no_shift_is_claimed(roads, road: str) -> None:
    _, result = roads[road]
    known = [r for r in result.recordings if r.mounting is not None and r.mounting.rotation is not None]
    assert known or not result.shifts


@pytest.mark.parametrize("road", ROADS)
def test_no_claim_rests_on_a_blow_from_the_road(roads, road: str) -> None:
    log, result = roads[road]
    time_s, axes = read_axes(log)
    rate_hz = 1 / np.median(np.diff(time_s))
    up = axes @ (axes.mean(axis=0) / np.linalg.norm(axes.mean(axis=0)))
    hard = np.abs(up - low_pass(up, rate_hz, HARD_HZ, order=2))
    for shift in result.shifts:
        near = (time_s > shift.start_s - REACH_S) & (time_s < shift.end_s + REACH_S)
        # Where there was a blow the drive gap stands without it: a level kept before, in and after it.
        assert hard[near].max() < BLOW_MPS2 or shift.gap is not None


@pytest.mark.parametrize("road", ROADS)
def test_every_claim_has_its_confidence_and_a_length_a_hand_and_foot_can_have(roads, road: str) -> None:
    _, result = roads[road]
    spans = sorted((s.start_s, s.end_s) for s in result.shifts)
    assert all(a[1] < b[0] for a, b in zip(spans[:-1], spans[1:], strict=True))
    for shift in result.shifts:
        assert shift.seen_by == "acceleration" and shift.standing is not True
        assert Settings().phone_least_probability_overrun <= shift.confidence <= 1
        # 0.15 to 3 s: no hand is quicker, and a clutch held longer is a stay in neutral (common practice, no source).
        assert 0.15 <= shift.end_s - shift.start_s <= 3.0


@pytest.mark.parametrize("road", ROADS)
def test_no_more_is_claimed_than_a_phone_can_know(roads, road: str) -> None:
    log, result = roads[road]
    # A driver in town seldom changes gear more than ten times a minute (common practice, no source).
    assert len(result.shifts) <= 10 * read_axes(log)[0][-1] / 60
    assert result.rests == () and result.gate is None and "no lever sensor" in result.gate_why
    assert all(s.readings["shift_time_s"].value is None and s.outcome is None for s in result.shifts)
    assert any("acceleration at the body alone" in note for note in result.notes)
    for recording in result.recordings:
        lack = next(u for u in recording.cannot_measure if u.name == "shift, neutral and baulk times")
        assert lack.kind == "absent" and lack.mend.startswith("fit a lever sensor")


@pytest.mark.parametrize("road", ROADS)
def test_a_road_is_no_clunk_and_no_grind(roads, road: str) -> None:
    """On the worst road its own shocks set the bar, and a phone at 100 Hz cannot hear a grind."""
    _, result = roads[road]
    for shift in result.shifts:
        assert shift.value("grind") is None and "gearbox" in shift.readings["grind"].why
        if road == "q3":
            assert shift.value("jerk_p2p_mps3") is None, f"{shift.number} {shift.confidence} {shift.gap}"
