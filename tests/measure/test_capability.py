"""What a drive can and cannot measure, and how the logs are described."""

from dataclasses import replace

import pytest

from shiftlog.measure.capability import Able, judge_drive, judge_reports, report_recording
from shiftlog.measure.carry import judge_recording
from shiftlog.measure.needs import DURATION, NEEDS
from shiftlog.measure.worth import able_text, find_remedies, mend_text, recording_facts
from shiftlog.model.car import Car
from shiftlog.model.drive import ClockMatch, Latency, Mounting, Placed
from shiftlog.model.recording import ACCEL, GYRO, LEVER
from tests.measure.made_placed import HERE, KNOWN, NOWHERE, placed

TIMES, REST, SPEEDS, FELT, OVER_REV, GAP, KNOCK, GRIND, CLUNK, SHUFFLE, DOSE = [need.name for need in NEEDS]


def able(*drive, car=None) -> dict[str, Able]:
    return {one.name: one for one in judge_drive(drive, car=car).can}


def unable(*drive, car=None):
    return {one.name: one for one in judge_drive(drive, car=car).cannot}


def test_every_family_is_judged_once():
    drive = (placed("lever", "lever", LEVER), placed("phone", "body", ACCEL))
    worth = judge_drive(drive)
    assert sorted([a.name for a in worth.can] + [u.name for u in worth.cannot]) == sorted(need.name for need in NEEDS)


def test_a_lever_sensor_gives_times_and_rests():
    can = able(placed("lever", "lever", LEVER))
    assert set(can) == {TIMES, REST} and can[TIMES].recordings == ("lever",)


@pytest.mark.parametrize(("rate_hz", "given"), [(100.0, True), (49.0, True), (40.0, False)])
def test_a_lever_sensor_must_be_fast_enough_for_times(rate_hz, given):
    lever = placed("lever", "lever", LEVER, rate_hz=rate_hz)
    assert (TIMES in able(lever)) is given and REST in able(lever)
    if not given:
        missing = unable(lever)[TIMES]
        assert missing.why == "lever: 40 Hz is too slow, 50 Hz is the least" and missing.mend.startswith("fit a lever")


def test_two_motion_sensors_make_a_lever_sensor():
    lever, body = placed("knob", "lever", (*ACCEL, *GYRO)), placed("phone", "body", (*ACCEL, *GYRO))
    assert able(lever, body)[TIMES].recordings == ("knob",)
    alone = unable(lever)[TIMES]
    assert alone.mend == "fit a second motion sensor with a gyro on the body as well"
    assert TIMES in unable(placed("knob", "lever", ACCEL), body)
    assert TIMES in unable(lever, replace(body, clock=NOWHERE))


def test_speeds_count_wherever_they_were_logged():
    bus, gps = placed("bus", "engine", ("engine_speed",)), placed("gps", "body", ("vehicle_speed",))
    assert {SPEEDS, OVER_REV} <= set(able(bus, gps))
    assert unable(bus)[SPEEDS].why == "bus: it takes vehicle speed from the car or a GPS receiver too"
    assert unable(bus)[SPEEDS].mend == "fit vehicle speed from the car or a GPS receiver as well"
    assert "engine speed from the car, new four" in unable(gps)[OVER_REV].mend


def test_shifts_are_felt_where_the_forward_axis_is_known():
    assert set(able(placed("phone", "body", ACCEL, mounting=KNOWN))) == {FELT, GAP, CLUNK, SHUFFLE, DOSE}
    turned = unable(placed("phone", "body", ACCEL))[FELT]
    assert "which way its axes point is not known (the car never changed its speed)" in turned.why
    assert (turned.mend, turned.declare) == ("drive longer", "mounting")
    assert mend_text(turned.mend, turned.declare) == "drive longer, or declare `mounting` in drive.toml"
    assert unable(placed("phone", "body", ACCEL, mounting=KNOWN, rate_hz=10.0))[FELT].mend is not None


def test_the_car_s_own_longitudinal_acceleration_gives_the_drive_gap():
    assert able(placed("bus", "engine", ("accel_x", "engine_speed"), rate_hz=20.0))[GAP].recordings == ("bus",)


@pytest.mark.parametrize(("place", "doubted"), [("gearbox", True), ("body", False)])
def test_a_declared_clock_is_doubted_where_blows_rest_on_it(place, doubted):
    declared = replace(HERE, how="declared", offset_s=37.3)
    drive = (placed("lever", "lever", LEVER), placed("box", place, ACCEL, rate_hz=1600.0, clock=declared))
    facts = recording_facts(judge_drive(drive).reports[1])
    assert [fact.look for fact in facts if "at its word" in fact.text] == [True] * doubted


def test_a_sensor_of_which_an_axis_is_dead_is_to_be_checked_and_not_fitted():
    dead = placed("box", "gearbox", ACCEL[:2], rate_hz=1600.0, stuck=ACCEL[2:])
    missing = unable(placed("lever", "lever", LEVER), dead)
    assert (
        missing[KNOCK].why == "box: accel_z: never changes" and missing[KNOCK].mend == "check that sensor and its lead"
    )


@pytest.mark.parametrize(
    ("held", "why", "mend"),
    [
        (ACCEL[:2], "only accel_x and accel_y of the three axes of the accelerometer were logged", "log accel_z too"),
        (ACCEL[1:2], "only accel_y of the three axes of the accelerometer was logged", "log accel_x and accel_z too"),
    ],
)
def test_a_sensor_of_which_not_all_axes_were_logged_is_there(held, why, mend):
    missing = unable(placed("phone", "body", (*held, "vehicle_speed")))
    assert (missing[FELT].why, missing[FELT].mend) == (f"phone: {why}", mend)
    assert missing[FELT].why == missing[DOSE].why == missing[CLUNK].why == missing[GAP].why
    assert missing[TIMES].why == "no lever sensor"
    one_axis = unable(placed("lever", "lever", ("select",)))
    assert one_axis[REST].why == "lever: only select of the two axes of the lever sensor was logged"


def test_what_no_recording_comes_near_is_said_of_the_drive_once():
    missing = unable(placed("lever", "lever", LEVER), placed("bus", "engine", ("engine_speed", "vehicle_speed")))
    assert missing[KNOCK].why == "no accelerometer at the gearbox or the lever"
    assert missing[KNOCK].mend.startswith("fit an accelerometer on the gearbox, 200 Hz")
    remedies = find_remedies(tuple(missing.values()))
    reasons = [reason for remedy in remedies for reason in remedy.reasons]
    assert len(remedies) <= len(reasons) < len(missing)
    assert sum(len(names) for names, _ in reasons) == len(missing)


def test_what_would_mend_several_recordings_is_said_once():
    lever, phone = placed("lever", "lever", LEVER), placed("phone", "body", ACCEL, clock=NOWHERE, mounting=KNOWN)
    box = placed("box", "gearbox", ACCEL, rate_hz=1600.0, clock=NOWHERE)
    remedies = [r for r in find_remedies(judge_drive((lever, phone, box)).cannot) if r.mend.startswith("drive longer")]
    assert [[why for _, why in remedy.reasons] for remedy in remedies] == [
        ["phone is not placed on the drive's clock", "box is not placed on the drive's clock"]
    ]


def test_a_grind_takes_a_fast_recorder_at_the_gearbox_and_a_lever():
    lever, box = placed("lever", "lever", LEVER), placed("box", "gearbox", ACCEL, rate_hz=1600.0)
    assert able(lever, box)[GRIND].recordings == ("box",)
    slow = placed("box", "gearbox", ACCEL, rate_hz=400.0)
    assert "800 Hz is the least" in unable(lever, slow)[GRIND].why
    assert "a lever sensor" in unable(box)[GRIND].why and "a lever sensor" in unable(box)[KNOCK].why
    assert unable(placed("phone", "body", ACCEL))[GRIND].mend.startswith("fit an accelerometer on the gearbox")


def test_a_recording_that_is_not_placed_says_so_shortly_and_gives_nothing():
    lever = placed("lever", "lever", LEVER)
    missing = unable(lever, placed("phone", "body", ACCEL, clock=NOWHERE, mounting=KNOWN))[GAP]
    assert missing.why == "phone is not placed on the drive's clock" and missing.mend == "drive longer"
    in_file, on_page = find_remedies((missing,)), find_remedies((missing,), declare={"clock_offset_s": "say it"})
    assert in_file[0].mend == "drive longer, or give clock_offset_s in drive.toml"
    assert on_page[0].mend == "drive longer, or say it"


def test_a_profile_without_a_gate_keeps_the_lever_s_figures_away():
    missing = unable(placed("lever", "lever", LEVER), car=Car(name="x", gate=None))
    assert "does not describe the gate" in missing[TIMES].why and "[gate]" in missing[TIMES].mend
    # Where there is no lever sensor either, that comes first.
    assert unable(car=Car(name="x", gate=None))[TIMES].why == "no lever sensor"


def test_a_recording_promises_nothing_that_the_drive_is_denied():
    lever = placed("lever", "lever", LEVER)
    report = judge_drive((lever,), car=Car(name="x", gate=None)).reports[0]
    assert report.can_measure == () and {lack.kind for lack in report.cannot_measure[:2]} == {"profile"}
    gives = next(f.text for f in recording_facts(report) if f.label == "gives")
    assert gives == "nothing yet: the car's profile does not describe the gate"
    no_map = judge_reports([report_recording(lever, (lever,))], gate_why="two gears only")
    assert no_map.can == () and [lack.why for lack in no_map.cannot if lack.kind == "gate"] == ["two gears only"] * 2


def test_a_sensor_that_moves_with_the_lever_has_no_axes_to_look_for():
    rides = Mounting(rotation=None, how="unknown", why="it moves with the lever")
    assert facts(placed("knob", "lever", ACCEL, mounting=rides))["mounting"] == ("it moves with the lever", False)
    assert facts(placed("phone", "body", ACCEL))["mounting"][1]


def test_over_rev_takes_a_redline():
    drive = (placed("bus", "engine", ("engine_speed", "vehicle_speed")),)
    assert "redline_rpm" in unable(*drive, car=Car(name="x", gate=None))[OVER_REV].mend
    assert OVER_REV in able(*drive, car=Car(name="x", gate=None, redline_rpm=7000.0))


def test_low_confidence_is_told_unless_another_recording_is_sure():
    guess = ClockMatch(offset_s=3.0, drift_ppm=4.0, how="matched", confidence=0.62)
    unsure = placed("phone", "body", ACCEL, clock=guess, mounting=KNOWN)
    assert able(unsure)[GAP].doubt == "its clock is matched with confidence 0.62 only"
    turned = placed("phone", "body", ACCEL, mounting=replace(KNOWN, confidence=0.7))
    assert "(its axes are known with confidence 0.70 only)" in able_text(able(turned)[GAP])
    # A blow is a blow whichever way the sensor points.
    gearbox = placed("box", "gearbox", ACCEL, rate_hz=1600.0, mounting=replace(KNOWN, confidence=0.7))
    assert able(gearbox, placed("lever", "lever", LEVER))[KNOCK].doubt is None
    both = able(unsure, replace(turned, recording=replace(turned.recording, name="other")))[GAP].doubt
    assert both.startswith("phone: its clock") and "; other: its axes" in both
    sure = placed("other", "body", ACCEL, mounting=KNOWN)
    assert able(unsure, sure)[GAP].doubt is None and able(unsure, sure)[GAP].recordings == ("phone", "other")


def test_a_recording_s_own_reasons_name_sensor_place_and_rate():
    drive = (placed("phone", "body", ACCEL, rate_hz=20.0, mounting=KNOWN),)
    can, cannot = judge_recording(drive[0], drive)
    lacks = {lack.name: lack for lack in cannot}
    assert can == (GAP,)
    assert (lacks[TIMES].kind, lacks[TIMES].why) == ("absent", "no lever sensor in this log")
    assert lacks[TIMES].mend.startswith("fit a lever sensor")
    assert (lacks[KNOCK].kind, lacks[KNOCK].why) == ("elsewhere", "the recorder sits at the body")
    assert (lacks[FELT].kind, lacks[FELT].why) == ("rate", "20 Hz is too slow, 25 Hz is the least")
    assert lacks[SPEEDS].why == "no engine speed in this log"


def facts(one: Placed) -> dict[str, tuple[str, bool]]:
    return {fact.label: (fact.text, fact.look) for fact in recording_facts(report_recording(one, (one,)))}


def test_a_clean_log_takes_few_lines_and_none_to_look_at():
    said = facts(placed("phone", "body", ACCEL, mounting=KNOWN))
    assert said["rate"][0] == "100 Hz, steps vary by 0.4 ms; 10 samples in 0.1 s"
    assert said["whole"][0] == "no gaps, no sample lost, none clipped"
    assert said["vibration"][0] == "noise floor 0.04 m/s², to be trusted up to 40 Hz"
    assert said["mounting"][0] == "axes found from gravity and speed, confidence 0.97, ± 1.2°"
    assert not any(look for _, look in said.values())


def test_losses_stand_out_each_on_its_line():
    said = facts(
        placed(
            "phone", "body", ACCEL, gaps=((5.0, 5.7), (9.0, 9.1)), dropped=80, clipped=7,
            clipped_by={"accel_x": 3, "accel_z": 4}, mended={"duplicate rows": 3}, stuck=("accel_y",),
        )
    )  # fmt: skip
    assert said["gaps"] == ("2, the longest 0.7 s, at 5.0 s", True)
    assert said["lost"] == ("80 samples", True)
    assert said["clipped"] == ("3 of accel_x, 4 of accel_z", True)
    assert said["mended"][0] == "duplicate rows: 3" and said["stuck"][1]
    assert "whole" not in said and "but" not in said


def test_a_matched_clock_says_how_surely_and_by_what():
    match = ClockMatch(
        offset_s=-11.742, drift_ppm=-21.0, how="matched", confidence=0.97, evidence="turn rate of lever and phone"
    )
    late = (Latency(channel="vehicle_speed", against="accel", lag_s=0.2, uncertainty_s=0.05),)
    slipped = replace(KNOWN, slipped_at_s=123.4)
    said = facts(placed("phone", "body", ACCEL, clock=match, latencies=late, mounting=slipped))
    clock = "matched: recorder time = drive time − 11.742 s, drift −21 ppm, confidence 0.97"
    assert said["clock"] == (clock, False) and said["by"][0] == "turn rate of lever and phone"
    assert said["latency"][0] == "vehicle speed comes 0.20 s behind accel (± 0.05 s)"
    assert said["mounting"][1] and said["mounting"][0].endswith("slipped at 123 s")
    adrift = facts(placed("phone", "body", ACCEL, clock=NOWHERE, mounting=slipped))
    assert adrift["mounting"][0].endswith("slipped at 123 s of its own log")
    assert facts(placed("phone", "body", ACCEL, clock=NOWHERE))["clock"] == ("not placed: nothing lines up", True)


def test_engine_speed_that_is_seldom_new_times_nothing():
    polled = {"engine_speed": 0.9, "vehicle_speed": 0.9}
    bus = placed("bus", "engine", ("engine_speed", "vehicle_speed"), renewed_s=polled)
    missing = unable(bus)
    assert SPEEDS in able(bus)
    assert missing[OVER_REV].why == missing[DURATION].why == "bus: engine speed is new only every 0.9 s"
    assert "every 0.25 s or sooner" in missing[DURATION].mend
    felt = placed("phone", "body", ACCEL, mounting=KNOWN)
    assert "0.9 s" in unable(bus, felt)[GAP].why
    rate = next(f.text for f in recording_facts(report_recording(bus, (bus,))) if f.label == "rate")
    assert rate.endswith("engine_speed, vehicle_speed new every 0.90 s")


@pytest.mark.parametrize("engine_s", [0.25, 0.1])
def test_engine_speed_that_is_often_new_gives_over_rev(engine_s):
    bus = placed("bus", "engine", ("engine_speed", "vehicle_speed"), renewed_s={"engine_speed": engine_s})
    assert OVER_REV in able(bus) and DURATION not in unable(bus)


def test_a_lever_sensor_times_shifts_whatever_engine_speed_does():
    bus = placed("bus", "engine", ("engine_speed", "vehicle_speed"), renewed_s={"engine_speed": 0.9})
    drive = (placed("lever", "lever", LEVER), bus)
    assert OVER_REV in able(*drive) and DURATION not in unable(*drive)


def test_what_gives_nothing_by_itself_says_what_it_helps_with_or_lacks():
    phone, gyro = placed("phone", "body", ACCEL, mounting=KNOWN), placed("turn", "body", GYRO)
    gps, bus = placed("gps", "body", ("vehicle_speed",)), placed("bus", "engine", ("engine_speed",))

    def gives(one, *drive):
        return next(f.text for f in recording_facts(report_recording(one, drive)) if f.label == "gives")

    assert gives(gyro, phone, gyro).endswith("it helps with telling how phone lies in the car")
    assert OVER_REV in gives(gps, gps, bus)
    assert gives(bus, bus) == "nothing yet: it takes vehicle speed from the car or a GPS receiver too"
    lost = replace(phone, clock=NOWHERE)
    assert gives(lost, lost) == "nothing, as it is not placed on the drive's clock"
