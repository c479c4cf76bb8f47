"""Changes of gear without a lever, on drives put together with known truth."""

from dataclasses import replace

import numpy as np
import pytest

from shiftlog.detect.drivetrain import find_gear_changes
from shiftlog.model.car import Car, GateLayout, Plane
from shiftlog.model.drive import Signals
from shiftlog.model.settings import Settings
from shiftlog.model.trace import Trace
from tests.detect.made_drive import FIVE, FOUR_WIDE, IDLE_RPM, KMH, SIX_CLOSE, MadeDrive, up_and_down

BARE = Car(name="unknown", gate=None)
LEVER_KEYS = {"shift_time_s", "neutral_time_s", "baulk_time_s", "approach_speed_mmps"}


def known(ratios: dict[str, float], factor: float = 1.0) -> Car:
    return Car(name="known", gate=None, learnt_rpm_per_mps={g: r * factor for g, r in ratios.items()})


def find(drive: MadeDrive, car: Car | None = None, **recorder):
    return find_gear_changes(drive.read(**recorder), car or known(drive.ratios), Settings())


def pairs(shifts) -> list[tuple[str, str]]:
    return [(s.from_gear, s.to_gear) for s in shifts]


@pytest.mark.parametrize("ratios", [FIVE, SIX_CLOSE, FOUR_WIDE], ids=["five", "six close", "four wide"])
@pytest.mark.parametrize(
    "recorder",
    [
        {"rates_hz": (100, 50)},
        {"rates_hz": (20, 10), "lag_s": 0.2},
        {"rates_hz": (50, 10), "lag_s": 1.2},
        {"rates_hz": (10, 10), "lag_s": 0.3, "step_mps": KMH},
        {"rates_hz": (5, 5), "lag_s": 0.5},
        {"rates_hz": (50, 1), "lag_s": 0.2},
    ],
    ids=["bus", "gps", "late gps", "whole km/h", "5 Hz", "1 Hz gps"],
)
def test_every_change_is_found_with_its_gears_and_none_invented(ratios, recorder) -> None:
    drive = up_and_down(ratios)
    found = find(drive, **recorder)
    assert pairs(found.shifts) == [(a, b) for a, b, _, _ in drive.changes]
    # A ratio leaves its gear within two samples of the slower signal; 50 ms for the engine to leave the band.
    slack = 0.05 + 2 / min(recorder["rates_hz"][0], 20)
    for shift, (_, _, start_s, end_s) in zip(found.shifts, drive.changes, strict=True):
        assert shift.start_s == pytest.approx(start_s, abs=slack)
        # The engine may fit the new gear while the clutch still slips.
        assert start_s < shift.end_s <= end_s + 0.15 + slack


def test_without_a_profile_the_same_changes_are_found_and_the_names_are_said_to_be_assumed() -> None:
    drive = up_and_down(FIVE)
    found = find(drive, BARE, lag_s=0.2)
    assert pairs(found.shifts) == [(a, b) for a, b, _, _ in drive.changes]
    assert any("assumed" in note for note in found.notes)
    for gear, ratio in FIVE.items():
        assert found.learnt_rpm_per_mps[gear] == pytest.approx(ratio, rel=0.005)


def test_signals_at_1_hz_give_the_changes_but_no_duration() -> None:
    drive = up_and_down(FIVE)
    found = find(drive, rates_hz=(1.1, 1.1), step_mps=KMH, accel_hz=100)
    assert pairs(found.shifts) == [(a, b) for a, b, _, _ in drive.changes]
    for shift in found.shifts:
        assert shift.end_s is None and shift.gap is None
        assert "new only every 0.91 s" in shift.readings["drive_gap_s"].why
    assert any("duration is refused" in note for note in found.notes)


def test_lever_figures_are_missing_with_the_reason() -> None:
    shift = find(up_and_down(FIVE)).shifts[0]
    assert shift.seen_by == "drivetrain" and shift.outcome is None and shift.attempts is None
    assert shift.readings.keys() >= LEVER_KEYS
    assert all("no lever sensor" in shift.readings[key].why for key in LEVER_KEYS)
    assert "accelerometer" in shift.readings["drive_gap_s"].why


def test_the_drive_gap_times_the_change_where_acceleration_shows_it() -> None:
    drive = MadeDrive(FIVE, mps=5.0, gear="1")
    for gear in ("2", "3", "4"):
        drive.go(4, 2.0).change(gear, 0.6)
    drive.go(4, 1.5)
    found = find(drive, rates_hz=(50, 20), accel_hz=100)
    for shift, (_, _, start_s, end_s) in zip(found.shifts, drive.changes, strict=True):
        assert (shift.start_s, shift.end_s) == shift.gap
        # Steps of 2 m/s² through a symmetric low-pass cross half way at the step; 0.1 m/s² noise moves that by 10 ms.
        assert shift.gap == pytest.approx((start_s, end_s), abs=0.03)
        assert shift.readings["drive_gap_s"].value == pytest.approx(0.6, abs=0.04)


def test_an_accelerometer_on_an_engine_that_rocks_shows_no_drive_gap() -> None:
    drive = MadeDrive(FIVE, mps=5.0, gear="1").go(4, 2.0).change("2", 0.6).go(4, 1.5)
    felt = drive.read(rates_hz=(50, 20), accel_hz=100)
    gearbox = {"gearbox": felt.accel_vehicle["body"]}
    rocked = replace(felt, accel=gearbox, accel_vehicle=gearbox)
    (shift,) = find_gear_changes(rocked, known(drive.ratios), Settings()).shifts
    assert shift.gap is None and "at the body" in shift.readings["drive_gap_s"].why


def test_wheelspin_and_a_clutch_dip_end_in_the_gear_they_began_in() -> None:
    drive = MadeDrive(FIVE, mps=8.0, gear="2").go(5, 1.0)
    spun_s = drive.now_s
    drive.slip(1.2, 0.25, 2.0).go(4, 0.5)
    dipped_s = drive.now_s
    drive.slip(0.8, -0.4, -0.2).go(5, 0.8)
    found = find(drive)
    assert found.shifts == ()
    assert [r.start_s for r in found.rejected] == pytest.approx([spun_s, dipped_s], abs=0.3)
    assert "began in, 2" in found.rejected[0].why and "wheelspin" in found.rejected[0].why
    assert "clutch down" in found.rejected[1].why


def coast_between(first: str, second: str, *, seconds: float) -> MadeDrive:
    drive = MadeDrive(FIVE, mps=6.0, gear="1")
    for gear in ("2", "3", "4"):
        drive.go(5, 1.2).change(gear, 0.5)
    drive.go(5, 0.2)
    if first != "4":
        drive.change(first, 0.5).go(4, -0.5)
    return drive.coast(seconds, -1.0).take_up(second, 0.4).go(6, 0.6)


def test_coasting_for_longer_than_two_seconds_is_a_journey_to_neutral_and_another_from_it() -> None:
    drive = coast_between("4", "3", seconds=5.0)
    found = find(drive)
    assert pairs(found.shifts)[3:] == [("4", "N"), ("N", "3")]
    out, back = found.shifts[3:]
    assert out.end_s is None and "neutral" in out.readings["drive_gap_s"].why
    assert back.end_s == pytest.approx(drive.now_s - 6, abs=0.3)
    assert any("without a clutch signal" in note for note in found.notes)


def test_a_slow_change_at_idle_is_no_stay_in_neutral() -> None:
    # Two seconds of the hand at most, and half a second of the foot at each end.
    assert pairs(find(coast_between("4", "3", seconds=2.3)).shifts)[-1] == ("4", "3")


def test_gears_are_known_where_neutral_and_a_clutch_held_down_look_the_same() -> None:
    found = find(coast_between("4", "3", seconds=2.9), rates_hz=(9, 9))
    assert pairs(found.shifts)[-1] == ("4", "3")
    assert any("not whether the clutch was held down or the lever lay in neutral" in note for note in found.notes)


def low_in_fourth(*, raised: float, before_rpm: float) -> MadeDrive:
    """Fourth at walking pace, clutch down, then for 0.9 s engine speed ``raised`` times idle at the speed at which that
    fits the fifth, reached from ``before_rpm``; then idle again, and third."""
    drive = coast_between("4", "4", seconds=2.0)
    held = raised * IDLE_RPM
    slower = (held / FIVE["5"] - drive.mps) / 6.0
    drive.go(6, slower).rev(1.2, FIVE["4"] * drive.mps, before_rpm, before_rpm, before_rpm)
    drive.rev(0.1, before_rpm, held).rev(0.9, held, held).rev(0.1, held, IDLE_RPM).rev(1.2, IDLE_RPM, IDLE_RPM)
    return drive.take_up("3", 0.4).go(6, 0.6)


def test_a_gear_that_drove_shortly_near_idle_is_seen_where_the_engine_was_drawn_off_idle() -> None:
    found = find(low_in_fourth(raised=1.12, before_rpm=IDLE_RPM), rates_hz=(9, 9))
    assert pairs(found.shifts)[-2:] == [("4", "5"), ("5", "3")]


def test_an_idle_that_is_raised_while_the_car_rolls_is_no_gear() -> None:
    found = find(low_in_fourth(raised=1.12, before_rpm=1.12 * IDLE_RPM), rates_hz=(9, 9))
    assert pairs(found.shifts)[-2:] == [("4", "N"), ("N", "3")]


@pytest.mark.parametrize("seed", [3, 11, 12], ids="polled at {}".format)
def test_an_engine_that_is_blipped_near_a_gear_s_ratio_is_not_in_it(seed) -> None:
    drive = coast_between("4", "4", seconds=1.0).go(4, 1.5)
    shares = (0.87, 1.02, 1.1, 1.015, 1.0, 0.99)
    blipped_s, fourth = drive.now_s, FIVE["4"] * drive.mps
    drive.rev(0.35, fourth, shares[0] * fourth).rev(0.55, *(share * fourth for share in shares))
    drive.rev(0.25, shares[-1] * fourth, FIVE["3"] * drive.mps)
    drive.gear = "3"
    found = find(drive.go(5, 0.3), rates_hz=(9, 9), seed=seed)
    assert pairs(found.shifts)[-1] == ("4", "3")
    assert found.shifts[-1].start_s == pytest.approx(blipped_s, abs=0.2)


@pytest.mark.parametrize(("redline_rpm", "seen"), [(5600.0, [("4", "3")]), (4500.0, [("4", "1"), ("1", "3")])])
def test_an_engine_held_by_its_limiter_is_in_no_gear_yet_far_beyond_it_the_wheels_drove_it(redline_rpm, seen) -> None:
    drive = coast_between("4", "4", seconds=1.0).go(4, (5600 / FIVE["1"] - 8.0) / 20)
    drive.go(4, (5600 / FIVE["1"] - drive.mps) / 4)
    drive.rev(1.3, FIVE["4"] * drive.mps, 1500, 5600).rev(0.45, 5600, 5600).rev(0.5, 5600, FIVE["3"] * drive.mps)
    drive.gear = "3"
    car = replace(known(FIVE), redline_rpm=redline_rpm)
    assert pairs(find(drive.go(5, 0.3), car, rates_hz=(9, 9)).shifts)[-len(seen) :] == seen


def test_a_clutch_held_down_all_the_while_is_one_change() -> None:
    drive = coast_between("4", "2", seconds=4.0)
    end_s = drive.now_s - 6.0
    found = find(drive, clutch=((end_s - 4.5, end_s + 0.1),))
    assert pairs(found.shifts)[-1] == ("4", "2")


def test_a_clutch_that_is_up_tells_neutral() -> None:
    drive = coast_between("4", "4", seconds=4.0)
    end_s = drive.now_s - 6.0
    found = find(drive, clutch=((end_s - 4.5, end_s - 4.0), (end_s - 0.5, end_s + 0.1)))
    assert pairs(found.shifts)[-2:] == [("4", "N"), ("N", "4")]
    assert not any("without a clutch signal" in note for note in found.notes)


def test_coasting_past_the_ratios_of_lower_gears_is_no_change_of_gear() -> None:
    drive = MadeDrive(FIVE, mps=20.0, gear="4").go(8, 0.3).coast(14, -1.4)
    drive.stand(3).launch(3, 1.5).go(5, 1.5).change("2", 0.5).go(6, 1.0)
    found = find(drive)
    assert pairs(found.shifts) == [("4", "N"), ("N", "1"), ("1", "2")]


def test_a_slipping_launch_is_not_taken_for_a_gear() -> None:
    drive = MadeDrive(FIVE).stand(4)
    begin_s = drive.now_s
    drive.launch(3, 1.8).go(4, 1.8).change("2", 0.5).go(6, 1.0)
    found = find(drive, rates_hz=(50, 20))
    assert pairs(found.shifts) == [("N", "1"), ("1", "2")]
    assert begin_s - 0.3 <= found.shifts[0].start_s <= begin_s + 3.0


def test_revving_at_standstill_gives_nothing_and_says_why() -> None:
    drive = MadeDrive(FIVE)
    for rpm in (850, 2500, 1200, 3500, 900):
        drive.stand(3, rpm=rpm)
    found = find(drive, BARE)
    assert found.shifts == () and found.rejected == () and found.learnt_rpm_per_mps == {}
    assert "no change of gear can be found" in found.notes[0]


def test_a_change_inside_a_hole_of_the_log_is_rejected_with_the_reason() -> None:
    drive = up_and_down(FIVE)
    _, _, start_s, end_s = drive.changes[2]
    whole = drive.read()
    found = find_gear_changes(
        Signals(engine_speed=cut(whole.engine_speed, start_s - 2, end_s + 2), vehicle_speed=whole.vehicle_speed),
        known(FIVE),
        Settings(),
    )
    assert pairs(found.shifts) == [(a, b) for i, (a, b, _, _) in enumerate(drive.changes) if i != 2]
    assert [("hole" in r.why) for r in found.rejected] == [True]


def cut(trace: Trace, start_s: float, end_s: float) -> Trace:
    kept = (trace.time_s < start_s) | (trace.time_s > end_s)
    time = trace.time_s[kept]
    return Trace(
        time_s=time, values=trace.values[kept], spans=((time[0], start_s), (end_s, time[-1])), rate_hz=trace.rate_hz,
        recording=trace.recording, place=trace.place,
    )  # fmt: skip


@pytest.mark.parametrize("missing", ["engine_speed", "vehicle_speed"])
def test_a_missing_speed_is_named(missing: str) -> None:
    signals = up_and_down(FIVE).read()
    there = "vehicle_speed" if missing == "engine_speed" else "engine_speed"
    found = find_gear_changes(Signals(**{there: getattr(signals, there)}), BARE, Settings())
    assert found.shifts == () and missing.replace("_", " ") + " was not logged" in found.notes[0]


def test_shifting_all_times_shifts_the_changes_and_nothing_else() -> None:
    drive = up_and_down(FIVE)
    here, there = find(drive, lag_s=0.2), find(drive, lag_s=0.2, zero_s=1000.0)
    assert pairs(here.shifts) == pairs(there.shifts)
    starts = np.array([[a.start_s, b.start_s] for a, b in zip(here.shifts, there.shifts, strict=True)])
    assert np.diff(starts, axis=1) == pytest.approx(1000.0, abs=1e-6)


def test_a_forward_filled_log_gives_what_its_new_values_give() -> None:
    drive = up_and_down(FIVE)
    signals = drive.read(rates_hz=(1.0, 1.0), step_mps=KMH)
    filled = Signals(engine_speed=fill(signals.engine_speed), vehicle_speed=fill(signals.vehicle_speed))
    found = find_gear_changes(filled, known(FIVE), Settings())
    assert pairs(found.shifts) == [(a, b) for a, b, _, _ in drive.changes]
    assert all(s.end_s is None for s in found.shifts)


def fill(trace: Trace) -> Trace:
    """Each value repeated on ten rows, as a logger writes that asks for one signal a row."""
    time = (trace.time_s[:, None] + np.arange(10) * 0.1).ravel()
    return Trace(
        time_s=time, values=np.repeat(trace.values, 10), spans=((time[0], time[-1]),), rate_hz=10.0,
        recording=trace.recording, place=trace.place,
    )  # fmt: skip


def test_a_gate_with_as_many_gears_as_ratios_names_them() -> None:
    gate = GateLayout(planes=(Plane(forward="1", rear="2"), Plane(forward="3", rear="4"), Plane(forward="5", rear="R")))
    found = find(up_and_down(FIVE), Car(name="gate only", gate=gate))
    assert found.bands.naming == "gate"
    assert any("as many ratios" in note for note in found.notes)
