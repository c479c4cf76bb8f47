"""The commands as a technician runs them: answers, exit codes, and one line for everything that is wrong."""

import json
import subprocess
import sys
import time

import pytest

from .conftest import CAR, LEVER, PROJECT, lever_rows


def test_help_is_quick_and_loads_no_heavy_library():
    script = (
        "import sys; from shiftlog.cli import main\n"
        "try: main(['--help'])\nexcept SystemExit: pass\n"
        "print([m for m in ('numpy', 'scipy', 'pandas', 'dash', 'plotly') if m in sys.modules])"
    )
    said = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, cwd=PROJECT)
    assert said.stdout.strip().endswith("[]")
    # The best of five: other work on the machine slows a start, nothing speeds it up.
    best = min(_seconds() for _ in range(5))
    assert best < 0.2


def _seconds() -> float:
    began = time.perf_counter()
    subprocess.run([sys.executable, "-m", "shiftlog", "--help"], capture_output=True, cwd=PROJECT)
    return time.perf_counter() - began


def test_measure_prints_shifts_and_writes_the_document(run, make_drive, tmp_path):
    drive, target = make_drive(), tmp_path / "out.json"
    said = run("measure", drive, "--json", target)
    assert said.returncode == 0, said.stderr
    assert "8 shifts" in said.stdout
    document = json.loads(target.read_text())
    assert document["format"] == 1
    assert [(s["from"], s["to"]) for s in document["shifts"]][1:3] == [("1", "2"), ("2", "3")]


SHIFT_KEYS = {
    "number", "from", "to", "via", "start_s", "out_s", "in_s", "end_s", "shift_time_s", "neutral_time_s",
    "baulk_time_s", "baulk", "gap_start_s", "gap_end_s", "drive_gap_s", "attempts", "paused", "outcome", "over_rev",
    "did_over_rev", "engine_speed_rpm", "vehicle_speed_mps", "gearbox_temp_c", "approach_speed_mmps",
    "rev_mismatch_rpm", "knock_peak_mps2", "knock_energy_m2s3", "jerk_p2p_mps3", "shuffle_hz", "shuffle_damping",
    "shuffle_amplitude_mps2", "vdv_mps175", "mtvv_mps2", "band_hz", "grind", "uncertainty", "interval95", "unmeasured",
}  # fmt: skip
REST_KEYS = {
    "start_s", "end_s", "select_mm", "engage_mm", "offset_mm", "plane", "released", "came_from", "vehicle_speed_mps",
    "return_time_s", "overshoot", "frequency_hz", "damping", "over_rev_if",
}  # fmt: skip
TOP_KEYS = {
    "format", "drive", "stage", "car", "driver", "started", "shiftlog", "settings", "inputs", "clock", "recordings",
    "gate", "shifts", "rests", "rejected", "summary", "findings",
}  # fmt: skip
RECORDING_KEYS = {
    "name", "place", "rate_hz", "jitter_s", "samples", "duration_s", "gaps", "dropped", "mended", "clipped",
    "noise_mps2", "bandwidth_hz", "clock", "latency", "mounting", "can_measure", "cannot_measure",
}  # fmt: skip


def test_the_document_has_every_field_and_a_reason_for_every_null(run, make_drive):
    document = json.loads(run("measure", make_drive(), "--json", "-").stdout)
    assert set(document) >= TOP_KEYS
    assert set(document["recordings"][0]) >= RECORDING_KEYS
    assert set(document["gate"]) >= {"map", "orientation", "scale", "seats"}
    assert set(document["gate"]["seats"][0]) >= {"gear", "select_mm", "engage_mm", "spread_mm", "stays"}
    for shift in document["shifts"]:
        assert set(shift) >= SHIFT_KEYS
        unexplained = [k for k, v in shift.items() if v is None and k not in shift["unmeasured"]]
        assert not unexplained
    assert set(document["rests"][0]) >= REST_KEYS


def test_compare_takes_drives_and_result_files(run, make_drive, tmp_path):
    before, after = make_drive("one"), make_drive("two")
    run("measure", before, "--json", tmp_path / "one.json")
    said = run("compare", "--before", tmp_path / "one.json", "--after", after, "--json", "-")
    assert said.returncode == 0, said.stderr
    document = json.loads(said.stdout)
    assert (document["before"], document["after"]) == (["one"], ["two"])
    rows = {(r["measure"], r["group"]): r for r in document["rows"]}
    assert rows["shift_time_s", "all"]["provisional"] is True
    assert "the day and the repair cannot be told apart" in run("compare", "--before", before, "--after", after).stdout


def test_check_says_what_to_fit(run, make_drive):
    said = run("check", make_drive())
    assert said.returncode == 0
    assert "200 Hz, steps vary by" in said.stdout
    assert "knock: no accel_x" in said.stdout and "fit an accelerometer on the gearbox" in said.stdout


def test_car_makes_a_profile_that_measure_accepts(run, make_drive, tmp_path):
    profile = tmp_path / "made.toml"
    said = run("car", profile, "--name", "Test car", "--planes", "1-2,3-4,5-R", "--home", "3-4", "--redline", "7000")
    assert said.returncode == 0, said.stderr
    assert run("measure", make_drive(car=profile.read_text())).returncode == 0


def test_add_builds_a_folder_that_measure_accepts(run, make_drive, tmp_path):
    log = make_drive() / "lever.csv"
    said = run("add", log, "--car", log.parent / "car.toml", "--into", tmp_path / "added", "--stage", "before")
    assert said.returncode == 0, said.stderr
    assert "select" in said.stdout
    assert "8 shifts" in run("measure", tmp_path / "added").stdout


def test_measures_lists_the_catalogue(run):
    assert "shift_time_s" in run("measures").stdout


def test_a_good_drive_with_one_bad_recording_is_measured_and_says_so_once(run, make_drive):
    drive = make_drive(recordings=LEVER + '[[recording]]\nname = "box"\nfile = "box.csv"\nplace = "gearbox"\n')
    said = run("measure", drive)
    assert said.returncode == 0
    assert [
        line for line in said.stderr.splitlines() if "box.csv" in line and "not there" in line
    ] or "box.csv" in said.stderr
    assert len(said.stderr.splitlines()) == 1


def rows_with(k, text):
    rows = lever_rows()
    return [*rows[:k], text, *rows[k + 1 :]]


STILL = [f"{k / 200:.4f},512,512" for k in range(4000)]
BAD = {
    "missing file": ({"recordings": LEVER.replace("lever.csv", "nobody.csv")}, 2, "nobody.csv"),
    "unknown unit": ({"header": "time [s],select [furlong],engage [count]"}, 2, "furlong"),
    "a channel twice": ({"header": "time [s],select [count],select [count]"}, 2, "select"),
    "empty file": ({"rows": [], "header": ""}, 2, "lever.csv"),
    "one row": ({"rows": ["0,512,512"]}, 2, "lever.csv"),
    "text for a number": ({"rows": [f"{k / 200:.4f},a,b" for k in range(400)]}, 2, "lever.csv"),
    "a lever in which nothing moves": ({"rows": STILL}, 2, "lever.csv"),
    "a profile without a gear the lever shows": (
        {"car": CAR.replace(', { forward = "5", rear = "R" }', "")},
        2,
        "car.toml",
    ),
    "a profile that is no TOML": ({"car": "format = = 1"}, 2, "car.toml"),
    "a home plane the gate lacks": ({"car": CAR.replace('home = "3-4"', 'home = "7-8"')}, 2, "home"),
    "a drive.toml with a wrong place": ({"recordings": LEVER.replace('"lever"\n', '"roof"\n')}, 2, "place"),
}


@pytest.mark.parametrize("name", BAD)
def test_bad_input_gives_one_line_that_says_where(run, make_drive, name):
    made, code, where = BAD[name]
    said = run("measure", make_drive(**made))
    assert said.returncode == code, said.stdout + said.stderr
    lines = said.stderr.strip().splitlines()
    assert len(lines) == 1, said.stderr
    assert where in lines[0]
    assert "fault of shiftlog itself" not in said.stderr


def test_two_recordings_that_do_not_overlap_are_said(run, make_drive):
    other = '[[recording]]\nname = "box"\nfile = "box.csv"\nplace = "gearbox"\nclock = "logger"\n'
    drive = make_drive(recordings=LEVER + 'clock = "logger"\n' + other)
    rows = [f"{9000 + k / 400:.4f},{0.1 * (k % 7):.2f},0,9.8" for k in range(4000)]
    (drive / "box.csv").write_text("\n".join(["time [s],accel_x [m/s^2],accel_y [m/s^2],accel_z [m/s^2]", *rows]))
    said = run("measure", drive)
    assert said.returncode == 0
    assert len(said.stderr.splitlines()) == 1 and "box" in said.stderr


def test_no_command_and_an_unknown_one_are_usage_errors(run):
    assert run().returncode == 2
    assert run("frobnicate").returncode == 2


def test_a_wrong_change_of_a_profile_leaves_the_old_one_alone(run, tmp_path):
    profile = tmp_path / "car.toml"
    assert run("car", profile, "--planes", "1-2,3-4", "--home", "3-4").returncode == 0
    before = profile.read_bytes()
    said = run("car", profile, "--home", "5-6")
    assert said.returncode == 2 and "none of the planes" in said.stderr
    assert profile.read_bytes() == before
    assert list(tmp_path.iterdir()) == [profile]
