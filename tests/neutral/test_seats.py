"""Seats of levers whose place, hand, engine and travel are known."""

import numpy as np
import pytest

from shiftlog.detect.gates import fit_gate_map
from shiftlog.model.reading import Reading
from shiftlog.model.seats import SeatFigures
from shiftlog.neutral.seat_pool import pool_seats
from shiftlog.neutral.seat_report import report_seats
from shiftlog.neutral.seats import measure_seats
from shiftlog.pipeline import load_drive, trace_lever
from tests.cables.made_test import MadeTest
from tests.neutral.made_lever import DRIVEN_MPS2, OVERRUN_MPS2, MadeLever


def seats_of(made: MadeLever, **signals: object) -> dict[str, SeatFigures]:
    path, gate, given = made.measure_from(**signals)
    return {s.gear: s for s in measure_seats(path, gate, given, ())}


def report_of(made: MadeLever):
    path, gate, given = made.measure_from()
    return report_seats([measure_seats(path, gate, given, ())], gate)


def covers(reading: Reading, truth: float) -> bool:
    assert reading.interval95 is not None
    return reading.interval95[0] <= truth <= reading.interval95[1]


@pytest.mark.parametrize("seed", range(3))
def test_every_seat_is_where_the_lever_lies_and_a_lazy_gear_stands_out(seed: int) -> None:
    made = MadeLever(seed=seed, off={"5": (0.0, -1.8)}, rock_mm=0.4)
    found = seats_of(made)
    assert set(found) == set(made.layout.gears)
    for gear, seat in found.items():
        off = made.off.get(gear, (0.0, 0.0))
        assert seat.off_select_mm.value == pytest.approx(off[0], abs=0.3)
        assert seat.off_engage_mm.value == pytest.approx(off[1], abs=0.5)
        assert covers(seat.off_engage_mm, off[1])
        assert seat.stays == made.rounds and seat.in_gear_s == pytest.approx(6 * made.rounds, rel=0.08)
    assert "5 lies 1." in report_of(made).answer[0] and "short of its place" in report_of(made).answer[0]


@pytest.mark.parametrize("plane", ["34", "5R", "12"])
def test_a_plane_that_lies_to_one_side_blames_no_gear_of_another(plane: str) -> None:
    """Without a ruler another pitch explains a plane at the edge as well: then it is a doubt, and no false word."""
    made = MadeLever(seed=2, off=dict.fromkeys(plane, (2.0, 0.0)))
    for gear, seat in seats_of(made).items():
        assert covers(seat.off_select_mm, 2.0 if gear in plane else 0.0)
    assert "cannot tell" in report_of(made).answer[0]


def test_a_sound_gate_is_said_to_be_sound() -> None:
    said = report_of(MadeLever(seed=5)).answer
    assert said[0].startswith("Every gear seen lies within 1 mm of its place")
    assert said[1] == "Between overrun and drive the lever moves by no more than is uncertain."


@pytest.mark.parametrize("rock_mm", [-1.2, 0.0, 0.8])
def test_how_far_torque_moves_the_lever(rock_mm: float) -> None:
    made = MadeLever(seed=11, rock_mm=rock_mm)
    intervals = []
    for seat in seats_of(made).values():
        assert seat.torque_engage_mm.value == pytest.approx(rock_mm, abs=0.1)
        assert seat.torque_select_mm.value == pytest.approx(0.0, abs=0.1)
        assert seat.torque_span_mps2 == pytest.approx(DRIVEN_MPS2 - OVERRUN_MPS2, abs=0.3)
        assert seat.at_drive[1] - seat.at_overrun[1] == pytest.approx(rock_mm, abs=0.1)
        intervals.append(covers(seat.torque_engage_mm, rock_mm))
    assert all(intervals)


@pytest.mark.parametrize("by", ["vehicle speed", "throttle", "engine speed"])
def test_other_signals_tell_drive_from_overrun_as_well(by: str) -> None:
    made = MadeLever(seed=12, rock_mm=0.9)
    signal = {
        "vehicle speed": lambda: {"vehicle_speed": made.speed()},
        "engine speed": lambda: {"engine_speed": made.trace(1500 * np.exp(0.05 * np.cumsum(made.pull) / made.rate_hz))},
        "throttle": lambda: {"throttle": made.trace(np.where(made.pull > 0, 0.4, 0.02))},
    }[by]()  # fmt: skip
    for seat in seats_of(made, **signal).values():
        assert seat.torque_by == by
        assert seat.torque_engage_mm.value == pytest.approx(0.9, abs=0.15)


def test_nothing_is_said_of_torque_where_nothing_tells_it() -> None:
    made = MadeLever(seed=13, rock_mm=0.9)
    alone = seats_of(made, engine_speed=None)["3"]
    assert alone.torque_engage_mm.value is None and "nothing in this drive tells" in alone.torque_engage_mm.why
    one_sided = seats_of(MadeLever(seed=13, only_driven=("3",)))["3"]
    assert one_sided.torque_engage_mm.why == (
        "in 3 the car was only driven with the hand off the lever: let it overrun in it for two seconds as well"
    )


def test_a_hand_is_felt_and_kept_out() -> None:
    made = MadeLever(seed=21, held=("4",))
    found = seats_of(made)
    assert found["4"].hand_share.value > 0.9
    assert found["4"].hand_only and found["4"].place is None and "hand off the lever" in found["4"].select_mm.why
    assert all(seat.hand_share.value < 0.1 for gear, seat in found.items() if gear != "4")


@pytest.mark.parametrize(
    ("rate_hz", "noise_mm", "why"), [(50.0, 0.06, "needs a lever logged"), (250.0, 0.7, "too coarse")]
)
def test_a_hand_that_cannot_be_felt_is_not_known(rate_hz: float, noise_mm: float, why: str) -> None:
    for seat in seats_of(MadeLever(seed=22, rate_hz=rate_hz, noise_mm=noise_mm, held=("4",))).values():
        assert seat.hand_share.value is None and why in seat.hand_share.why
        assert seat.place is not None


@pytest.mark.parametrize("share", [0.85, 1.0, 1.1])
def test_travel_against_a_ruler(share: float) -> None:
    """A lever whose ratio was changed, or whose cables lose motion, goes short in every gear alike."""
    made = MadeLever(seed=31, share=share, ruler=True)
    report = report_of(made)
    whole = report.travel[-1]
    assert whole.plane is None and len(report.travel) == 4
    for row in report.travel:
        assert row.travel_mm.value == pytest.approx(30 * share, abs=0.2)
        assert row.short_mm.value == pytest.approx(30 * (1 - share), abs=0.2) and covers(row.short_mm, 30 * (1 - share))
    assert all(s.depth_mm.value == pytest.approx(15 * share, abs=0.3) for s in report.seats)
    # A ruler that reads to half a millimetre tells depth to better than one.
    assert all(covers(s.depth_mm, 15 * share) and s.depth_mm.uncertainty < 0.4 for s in report.seats)
    said = " ".join(report.answer)
    assert ("which is what the profile says" in said) is (share == 1.0)
    assert ("All gears lie short" in said and ": 4.5 mm short" in said.replace("4.6", "4.5")) is (share == 0.85)
    assert ("All gears lie deeper" in said and "more than it should be" in said) is (share == 1.1)


def test_without_a_ruler_it_says_that_travel_cannot_be_seen() -> None:
    report = report_of(MadeLever(seed=31, share=0.85))
    assert all(row.travel_mm.value is None and "without a ruler" in row.travel_mm.why for row in report.travel)
    assert all(s.depth_mm.value is None for s in report.seats)
    assert report.answer[-1] == "Travel that is short everywhere cannot be seen here."
    assert any("lost motion cannot be seen" in note for note in report.notes)


def test_one_plane_that_travels_short_shows_in_its_own_row() -> None:
    made = MadeLever(seed=33, off={"1": (0.0, -1.5), "2": (0.0, 1.5)}, ruler=True)
    rows = {row.plane: row for row in report_of(made).travel}
    assert rows["1-2"].short_mm.value == pytest.approx(3.0, abs=0.3)
    assert rows["3-4"].short_mm.value == pytest.approx(0.0, abs=0.3)


def test_several_drives_count_as_one_car() -> None:
    drives = [tuple(seats_of(MadeLever(seed=seed, rock_mm=0.5)).values()) for seed in (41, 42, 43)]
    pooled = pool_seats(drives, MadeLever().layout.gears)
    for seat in pooled:
        alone = [next(s for s in drive if s.gear == seat.gear) for drive in drives]
        assert (seat.drives, seat.stays) == (3, sum(s.stays for s in alone))
        assert seat.engage_mm.uncertainty < min(s.engage_mm.uncertainty for s in alone)
        assert seat.torque_engage_mm.value == pytest.approx(0.5, abs=0.08)


def test_drives_that_disagree_are_less_certain_together() -> None:
    drives = [tuple(seats_of(MadeLever(seed=44, off={"3": (0.0, mm)})).values()) for mm in (-1.5, 1.5)]
    third = next(s for s in pool_seats(drives, MadeLever().layout.gears) if s.gear == "3")
    assert third.off_engage_mm.uncertainty > 0.7


def test_a_gear_that_was_only_passed_through_says_what_to_do() -> None:
    path, gate, given = MadeLever(seed=51, rounds=1).measure_from()
    short = [s for s in measure_seats(path, gate, given, ()) if s.stays == 0]
    assert not short
    one = measure_seats(path, gate, given, ())[0]
    assert one.spread is None and one.engage_mm.uncertainty > 0.15


def test_a_hand_that_presses_in_a_marked_test_does_not_move_a_seat(tmp_path) -> None:
    """The let-goes between the presses count, on a map of their own; the time says nothing of driving."""
    test = MadeTest(seed=31, sides={"3": (1.2, 1.5)})
    drive = load_drive(test.write(tmp_path / "pressed"))
    gate = fit_gate_map(drive.signals, drive.car)
    path = trace_lever(drive, gate)
    found = measure_seats(path, gate, drive.signals, (), tests=drive.tests)
    assert [s.gear for s in found] == list(gate.layout.gears)
    for seat in found:
        assert seat.off_engage_mm.value == pytest.approx(0.0, abs=0.15)
        assert seat.off_select_mm.value == pytest.approx(0.0, abs=0.15)
        assert seat.in_gear_s == 0.0 and seat.hand_share.value is None
    pressed = [s.off_engage_mm.value for s in measure_seats(path, gate, drive.signals, ())]
    assert max(abs(mm) for mm in pressed) > 0.3


def test_what_a_short_drive_cannot_tell_is_said() -> None:
    said = report_of(MadeLever(seed=52, rounds=1, off={"5": (0.0, -0.8)}, stay_mm=0.0)).answer[0]
    assert said.startswith("No gear stands out off its place; in ") and "cannot tell 1 mm for sure" in said
