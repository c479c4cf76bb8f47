"""A lever known from two motion sensors, held against the truth: the short form of ``lever_imu_study``."""

import numpy as np
import pytest

from shiftlog.detect.gates import describe_worth, fit_gate_map
from shiftlog.pipeline import measure_drive
from tests.truth.lever_imu_study import cases, lever_errors_mm, measure_angles, with_angles
from tests.truth.tally import score

SEEDS = (1, 2, 7)
"""Smooth and rough road, mounting known and not, three cars, the body's clock up to 10 ms off."""


@pytest.mark.parametrize("case", [next(cases(1, first_seed=s, minutes=3.0)) for s in SEEDS], ids=lambda c: c.car)
def test_two_motion_sensors_do_for_a_lever_sensor(case):
    drive = case.make()
    angles = measure_angles(drive, case)
    known = with_angles(drive, angles)
    gate = fit_gate_map(known.signals, drive.car)
    errors = lever_errors_mm(drive, angles, gate)
    assert np.median(errors) < 1.5
    # A distance in the plane has its median at 1.18 standard deviations of one axis; seats that sit off add to it.
    assert 0.4 * np.median(errors) / 1.18 < gate.slow_mm < 2.5 * np.median(errors) / 1.18
    assert describe_worth(gate) == (
        f"lever position from two motion sensors: good for {gate.slow_mm:.1f} mm (standard uncertainty)",
    )
    result = measure_drive(known)
    tally = score(drive.truth, result.shifts, result.rests, name=case.car)
    assert tally.counts["shifts matched"] == tally.counts["shifts true"] == tally.counts["shifts found"]
    assert tally.share("from and to right", "from and to judged") == 1.0
    assert np.median(tally.errors["shift_time_s"]) < 0.01
    timed = [s.readings["shift_time_s"] for s in result.shifts if s.value("shift_time_s") is not None]
    assert all(reading.uncertainty > 0 for reading in timed)
    offsets = [r.readings["offset_mm"] for r in result.rests if r.value("offset_mm") is not None]
    assert all(reading.uncertainty == pytest.approx(gate.slow_mm) for reading in offsets)
