"""The commands as a technician runs them: what they answer."""

import json
import random
from pathlib import Path

import pytest

from shiftlog.measure.catalogue import MEASURES
from shiftlog.synth.recorder import Sensors
from shiftlog.synth.scenario import make_drive as synthesise

from .conftest import lever_rows

# Drives of their own: one log under two names is refused as one drive.
ROWS = lever_rows(("1", "2", "3", "4", "5", "4", "3"))
FEWER = lever_rows(("1", "2", "3", "4", "5", "4"))


def test_measure_answers_in_a_sentence_and_a_table(run, make_drive):
    said = run("measure", make_drive())
    assert said.returncode == 0, said.stderr
    first, *rest = said.stdout.splitlines()
    assert first.startswith("drive, Test car: 8 shifts (8 clean), 1 rest in neutral")
    head = next(line for line in rest if line.startswith("no."))
    rows = [line for line in rest if line[:1].isdigit()]
    assert len(rows) == 8
    column = head.index("outcome")
    assert {row[column:].split()[0] for row in rows} == {"clean"}


def test_measure_finds_the_shifts_that_were_driven(run, make_drive, tmp_path):
    target = tmp_path / "out.json"
    assert run("measure", make_drive(), "--json", target).returncode == 0
    document = json.loads(target.read_text(encoding="utf-8"))
    driven = ["N", "1", "2", "3", "4", "5", "4", "3", "2"]
    assert [(s["from"], s["to"]) for s in document["shifts"]] == list(zip(driven, driven[1:], strict=False))


def test_measure_shows_the_rests_and_the_caution_beside_over_rev(run, full_drive):
    said = run("measure", full_drive)
    assert said.returncode == 0, said.stderr
    assert "engine speed if pushed straight" in said.stdout
    after = said.stdout.partition("engine speed if pushed straight")[2]
    assert any(line.startswith("Never try it out") for line in after.splitlines())


def test_measure_keeps_the_result_in_a_workshop_once_for_each_run(run, make_drive, tmp_path):
    drive, workshop = make_drive(), tmp_path / "workshop"
    for _ in range(2):
        assert run("measure", drive, "--workshop", workshop).returncode == 0
    assert (workshop / "workshop.sqlite").is_file()


def test_a_workshop_measures_with_the_profile_its_pages_use_and_says_so(run, make_drive, tmp_path):
    drive, workshop = make_drive(), tmp_path / "workshop"
    first = run("measure", drive, "--workshop", workshop)
    assert first.returncode == 0 and "another profile" not in first.stderr
    with (drive / "car.toml").open("a", encoding="utf-8") as profile:
        profile.write("engage_travel_mm = 45\n")
    again = run("measure", drive, "--workshop", workshop, "--json", tmp_path / "kept.json")
    assert again.returncode == 0 and "the workshop has another profile of this car" in again.stderr
    assert run("measure", drive, "--json", tmp_path / "own.json").returncode == 0
    kept, own = (json.loads((tmp_path / f"{name}.json").read_text(encoding="utf-8")) for name in ("kept", "own"))
    speeds = [document["shifts"][1]["approach_speed_mmps"] for document in (kept, own)]
    assert speeds[1] == pytest.approx(1.5 * speeds[0], rel=0.05)


@pytest.mark.parametrize("form", ["file", "list", "other ending", "drive.toml"])
def test_compare_takes_drives_and_whatever_measure_wrote(run, make_drive, tmp_path, form):
    before, also, after = make_drive("one"), make_drive("again", rows=FEWER), make_drive("two", rows=ROWS)
    target = tmp_path / ("one.txt" if form == "other ending" else "one.json")
    run("measure", before, *([also] if form == "list" else []), "--json", target)
    given = before / "drive.toml" if form == "drive.toml" else target
    said = run("compare", "--before", given, "--after", after, "--json", "-")
    assert said.returncode == 0, said.stderr
    document = json.loads(said.stdout)
    assert document["before"] == (["one", "again"] if form == "list" else ["one"])
    assert document["after"] == ["two"]


def test_compare_says_that_one_drive_a_side_cannot_tell_the_day_from_the_repair(run, make_drive):
    said = run("compare", "--before", make_drive("one"), "--after", make_drive("two", rows=ROWS))
    assert said.returncode == 0, said.stderr
    assert "the day and the repair cannot be told apart" in said.stdout


def test_compare_says_what_repeat_drives_are_worth(run, make_drive):
    said = run("compare", "--repeat", make_drive("one"), make_drive("two", rows=FEWER), "--json", "-")
    assert said.returncode == 0, said.stderr
    document = json.loads(said.stdout)
    assert document["repeat"] == ["one", "two"]
    assert all(row["why"] for row in document["gauge"])
    told = run("compare", "--repeat", make_drive("three"), make_drive("four", rows=FEWER))
    assert told.returncode == 0 and "smallest change" in told.stdout and "No gauge study" in told.stdout


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (["--margin", "shift_time_s=-1"], "a margin is a positive number"),
        (["--margin", "speediness=1"], "is no figure"),
        (["--repeat", "x"], "--repeat stands alone"),
    ],
)
def test_compare_says_what_is_wrong_with_its_options(run, more, words):
    said = run("compare", "--before", "a", "--after", "b", *more)
    assert said.returncode == 2 and words in said.stderr and len(said.stderr.splitlines()) == 1


def test_compare_takes_the_shop_s_margin(run, make_drive):
    before, after = make_drive("one"), make_drive("two", rows=ROWS)
    profile = after / "car.toml"
    text = profile.read_text(encoding="utf-8")
    profile.write_text(text + "\n[limits]\nshift_time_s_margin = 0.07\n", encoding="utf-8")
    margins = []
    for more in ([], ["--margin", "shift_time_s=0.09"]):
        said = run("compare", "--before", before, "--after", after, *more, "--json", "-")
        assert said.returncode == 0, said.stderr
        margins += {r["margin"] for r in json.loads(said.stdout)["rows"] if r["measure"] == "shift_time_s"}
    assert margins == [0.07, 0.09]


BAD_RESULTS = {
    "no JSON": ("{", "row 1"),
    "another format": ('{"format": 99}', "format: 99"),
    "a list with a stranger": ('[{"format": 99}]', "drive 1 of the list"),
    "an empty list": ("[]", "result"),
}


@pytest.mark.parametrize("name", BAD_RESULTS)
def test_compare_says_what_is_wrong_in_a_result_file(run, make_drive, tmp_path, name):
    text, words = BAD_RESULTS[name]
    (tmp_path / "bad.json").write_text(text)
    said = run("compare", "--before", tmp_path / "bad.json", "--after", make_drive())
    assert said.returncode == 2
    assert len(said.stderr.splitlines()) == 1
    assert "bad.json" in said.stderr and words in said.stderr


def test_check_says_what_each_log_is_worth(run, full_drive):
    said = run("check", full_drive)
    assert (said.returncode, said.stderr) == (0, "")
    gearbox = said.stdout.split("\n\n")[3].splitlines()
    assert gearbox[0] == "gearbox (gearbox.csv, at the gearbox)"
    lines = {line[2:].split()[0]: line for line in gearbox[1:]}
    assert list(lines) == ["channels", "rate", "whole", "vibration", "clock", "mounting", "gives"]
    assert "1600 Hz, steps vary by" in lines["rate"] and "no gaps, no sample lost, none clipped" in lines["whole"]
    assert "noise floor" in lines["vibration"] and "trusted up to 640 Hz" in lines["vibration"]
    # All values stand under one another.
    assert len({len(line) - len(line[2:].split(None, 1)[1]) for line in gearbox[1:]}) == 1


def test_check_ends_with_one_list_for_the_whole_drive(run, full_drive):
    said = run("check", full_drive).stdout
    can = said.split("\n\n")[-1]
    assert can.splitlines()[0] == "This drive can measure" and "It cannot measure" not in said
    assert "shift, neutral and baulk times  lever" in can and "gear changes from speeds        bus" in can
    # Each family once: a lever log is not told that it has no accelerometer while the gearbox has one.
    assert said.count("knock") == 2 and "no accelerometer" not in said
    assert max(map(len, said.splitlines())) <= 100


def test_check_says_what_to_fit(run, make_drive):
    said = run("check", make_drive())
    assert said.returncode == 0
    assert "200 Hz, steps even" in said.stdout
    lines = said.stdout.splitlines()
    at = lines.index("  knock: no accelerometer at the gearbox or the lever")
    assert lines[at + 1].startswith("    → fit an accelerometer on the gearbox")


def test_check_says_what_a_lever_from_two_motion_sensors_is_good_for(call, tmp_path):
    sensors = Sensors(lever_rate_hz=None, gearbox_rate_hz=None, lever_imu_rate_hz=100.0)
    drive = synthesise(car="hatch5", seed=4, minutes=1.5, sensors=sensors).write(tmp_path / "two")
    worth = "lever position from two motion sensors: good for 0."
    (line,) = [line for line in call("check", drive).stdout.splitlines() if worth in line]
    assert line.split()[0] == "worth" and line.endswith("mm (standard uncertainty)")
    assert worth in call("measure", drive).stderr
    profile = (drive / "car.toml").read_text(encoding="utf-8")
    (drive / "car.toml").write_text(profile.partition("[gate]")[0], encoding="utf-8")
    assert "no lever position from two motion sensors: the car's profile has no [gate]" in call("check", drive).stdout


def test_check_promises_nothing_of_a_log_that_the_drive_is_denied(run, make_drive):
    drive = make_drive()
    text = (drive / "car.toml").read_text(encoding="utf-8")
    (drive / "car.toml").write_text(text.partition("[gate]")[0], encoding="utf-8")
    said = run("check", drive)
    assert "gives" in said.stdout and "nothing yet: the car's profile does not describe the gate" in said.stdout
    assert "Nothing can be measured from this drive." in said.stdout
    assert said.stdout.count("shift, neutral and baulk times") == 1


def test_nothing_to_measure_is_an_answer_and_no_failure(run, tmp_path):
    for name in ("one", "two", "three"):
        noise = random.Random(name)
        still = "".join(
            f"{k * 0.01:.2f},{0.01 * (k % 3):.2f},{noise.gauss(0, 0.1):.3f},{9.8 + 0.01 * (k % 5):.2f}\n"
            for k in range(6000)
        )
        (tmp_path / f"{name}.csv").write_text("time [s],accel_x [m/s^2],accel_y [m/s^2],accel_z [m/s^2]\n" + still)
    entries = [f'[[recording]]\nfile = "{name}.csv"\nplace = "body"\n' for name in ("one", "two", "three")]
    (tmp_path / "drive.toml").write_text("".join(entries))
    said = run("check", tmp_path, "--json", tmp_path / "worth.json")
    assert said.returncode == 0 and "Nothing can be measured from this drive." in said.stdout
    assert json.loads((tmp_path / "worth.json").read_text(encoding="utf-8"))["can_measure"] == []
    said = run("measure", tmp_path)
    assert said.returncode == 0
    # What to do about two recordings without a place is said once.
    assert said.stderr.count(": not placed: ") == 2 and said.stderr.count("clock_offset_s") == 1


def test_check_writes_the_same_as_a_document(run, full_drive):
    said = run("check", full_drive / "drive.toml", "--json", "-")
    assert said.returncode == 0, said.stderr
    document = json.loads(said.stdout)
    assert [r["name"] for r in document["recordings"]] == ["lever", "bus", "gearbox", "phone"]
    assert document["recordings"][2]["bandwidth_hz"] == pytest.approx(640, rel=0.01)
    can = {one["measure"]: one["from"] for one in document["can_measure"]}
    assert can["knock"] == ["gearbox"] and can["gear changes from speeds"] == ["bus"]
    assert {one["measure"] for one in document["cannot_measure"]} & set(can) == set()
    assert all(one["why"] for one in document["cannot_measure"])


def test_a_dash_in_the_table_of_shifts_is_explained_below_it_once(run, full_drive):
    lines = run("measure", full_drive).stdout.splitlines()
    told = [line for line in lines if line.startswith("– ")]
    assert told and len(told) == len(set(told)) <= 12 and max(map(len, told)) <= 100
    assert any("the lever went to neutral and stayed there" in line for line in told)


def test_add_builds_a_folder_that_measure_accepts(run, make_drive, tmp_path):
    log = make_drive() / "lever.csv"
    said = run("add", log, "--car", log.parent / "car.toml", "--into", tmp_path / "added", "--stage", "before")
    assert said.returncode == 0, said.stderr
    assert "select from select [count], engage" in said.stdout
    assert "8 shifts" in run("measure", tmp_path / "added").stdout
    again = run("add", log, "--car", log.parent / "car.toml", "--into", tmp_path / "added")
    assert again.returncode == 2 and "is there already" in again.stderr


def test_add_writes_what_its_options_say(run, full_drive, tmp_path):
    said = run(
        "add", full_drive / "lever.csv", full_drive / "phone.csv", "--car", full_drive / "car.toml", "--into",
        tmp_path / "added", "--place", "phone.csv=body", "--offset", "phone.csv=24.087678", "--driver", "B",
        "--grows", "lever.csv::select=right", "--grows", "lever.csv::engage=forward", "--gearbox-temp", "-4.5",
    )  # fmt: skip
    assert said.returncode == 0, said.stderr
    text = (tmp_path / "added" / "drive.toml").read_text(encoding="utf-8")
    for words in ('driver = "B"', "gearbox_temp_c = -4.5", "clock_offset_s = 24.087678", 'grows = "right"'):
        assert words in text


def test_measures_lists_the_whole_catalogue(run):
    heads = [line for line in run("measures").stdout.splitlines() if line and not line.startswith(" ")]
    assert [head.split(", ")[-1].split()[0] for head in heads] == list(MEASURES)


def test_the_readme_has_the_catalogue_s_table(run):
    readme = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    assert run("measures", "--markdown").stdout.strip() in readme, "print it with: shiftlog measures --markdown"
