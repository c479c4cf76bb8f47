"""`shiftlog car`: makes, changes and checks a profile, and never leaves a worse one behind."""

import os
import subprocess
import sys
import tomllib

import pytest

from shiftlog.model.car import GateLayout

from .conftest import PROJECT


def read(profile):
    return tomllib.loads(profile.read_text(encoding="utf-8"))


def test_a_profile_is_made_that_measure_accepts(run, make_drive, tmp_path):
    profile = tmp_path / "made.toml"
    said = run("car", profile, "--name", "Test car", "--planes", "1-2,3-4,5-R", "--home", "3-4", "--redline", "7000")
    assert said.returncode == 0, said.stderr
    assert read(profile)["car"] == {"name": "Test car", "redline_rpm": 7000}
    assert run("measure", make_drive(car=profile.read_text(encoding="utf-8"))).returncode == 0


def test_ratios_final_drive_and_tyre_give_engine_speed_in_any_order(call, tmp_path):
    """rpm per km/h = i · i_final · 60 / (2π r · 3.6): 3 · 4 · 60 / (2π · 0.3 · 3.6) = 106.1, worked by hand."""
    one, two = tmp_path / "one.toml", tmp_path / "two.toml"
    gate, ratios, final = ["--planes", "1-2,3-4"], ["--ratios", "1=3,2=2"], ["--final-drive", "4"]
    call("car", one, *gate, *ratios, *final)
    for step in (gate, final, ratios):
        assert call("car", two, *step).returncode == 0
    assert read(one)["gearbox"] == read(two)["gearbox"]
    two.write_text(f"{two.read_text(encoding='utf-8')}\n[tyre]\nrolling_radius_m = 0.3\n", encoding="utf-8")
    assert "1: 106.1, 2: 70.7" in call("car", two).stdout


def test_a_gate_is_given_to_a_profile_that_has_none(call, tmp_path):
    profile = tmp_path / "car.toml"
    profile.write_text('format = 1\n[car]\nname = "Bare"\n', encoding="utf-8")
    assert call("car", profile, "--planes=-R,1-2,3-4", "--home", "1-2").returncode == 0
    assert [list(plane.values()) for plane in read(profile)["gate"]["planes"]] == [["R"], ["1", "2"], ["3", "4"]]


def test_checking_changes_nothing(call, tmp_path):
    profile = tmp_path / "car.toml"
    profile.write_text('# kept by hand\nformat = 1\n[car]\nname = "Bare"\n', encoding="utf-8")
    before = profile.read_bytes()
    said = call("car", profile)
    assert said.returncode == 0
    assert "the redline is not known" in said.stdout
    assert profile.read_bytes() == before


WRONG = {
    "a home plane the gate lacks": (["--home", "5-6"], "none of the planes"),
    "a plane without a dash": (["--planes", "12,34"], "lacks the dash"),
    "a plane of three gears": (["--planes", "1-2-3"], "more than two gears"),
    "an empty plane": (["--planes", "1-2,,3-4"], "names no gear"),
    "a gear twice": (["--planes", "1-2,2-3", "--home", "none"], "2"),
    "ratios that cannot be read": (["--ratios", "1=3.2;2"], "write 1=3.2,2=1.95"),
    "a ratio below nothing": (["--ratios", "1=-3"], "no number above 0"),
    "a ratio twice": (["--ratios", "1=3,1=2"], "is there twice"),
    "no tyre": (["--tyre", "round"], "205/50R15"),
}


@pytest.mark.parametrize("name", WRONG)
def test_a_wrong_change_leaves_the_old_profile_alone(call, tmp_path, name):
    options, words = WRONG[name]
    profile = tmp_path / "car.toml"
    assert call("car", profile, "--planes", "1-2,3-4", "--home", "3-4").returncode == 0
    before = profile.read_bytes()
    said = call("car", profile, *options)
    assert said.returncode == 2
    assert len(said.stderr.splitlines()) == 1 and words in said.stderr
    assert profile.read_bytes() == before
    assert list(tmp_path.iterdir()) == [profile]


@pytest.mark.parametrize("options", [["--home", "1-2"], ["--pitch", "20"], ["--final-drive", "4"]])
def test_what_has_nothing_to_be_said_of_is_refused(call, tmp_path, options):
    profile = tmp_path / "car.toml"
    profile.write_text('format = 1\n[car]\nname = "Bare"\n', encoding="utf-8")
    said = call("car", profile, *options)
    assert said.returncode == 2
    assert options[0] in said.stderr and "--planes" in said.stderr


def test_a_new_profile_needs_its_gate(call, tmp_path):
    said = call("car", tmp_path / "new.toml", "--name", "X")
    assert said.returncode == 2
    assert "--planes" in said.stderr and list(tmp_path.iterdir()) == []


def test_ratios_are_learnt_from_a_drive(run, full_drive, tmp_path):
    """Within 1 %: the synthesised car's own ratios, 126.6 and 70.7 rpm per km/h, are the truth."""
    known = run("car", full_drive / "car.toml").stdout
    assert "1: 126.6, 2: 70.7" in known
    profile = tmp_path / "new.toml"
    said = run("car", profile, "--planes", "1-2,3-4,5-R", "--home", "3-4", "--from-drive", full_drive)
    assert said.returncode == 0, said.stderr
    learnt = read(profile)["gearbox"]["learnt_rpm_per_kmh"]
    assert learnt["1"] == pytest.approx(126.6, rel=0.01) and learnt["2"] == pytest.approx(70.7, rel=0.01)


def test_ratios_that_do_not_fit_the_drive_are_pointed_out_with_the_figures(run, full_drive, tmp_path):
    profile = tmp_path / "wrong.toml"
    right = (full_drive / "car.toml").read_text(encoding="utf-8")
    wrong = right.replace('"2" = 1.91', '"2" = 2.4')
    assert wrong != right
    profile.write_text(wrong, encoding="utf-8")
    said = run("car", profile, "--from-drive", full_drive)
    pointed = [line for line in said.stdout.splitlines() if "check its ratio" in line]
    assert len(pointed) == 1
    assert "gear 2" in pointed[0] and "70.7" in pointed[0] and "88.8" in pointed[0]


def test_a_gear_the_profile_lacks_is_pointed_out_and_nothing_is_written(run, make_drive, tmp_path):
    profile = tmp_path / "short.toml"
    said = run("car", profile, "--planes", "1-2,3-4", "--home", "3-4", "--from-drive", make_drive())
    assert said.returncode == 2
    assert "[gate] planes" in said.stderr and "add that gear" in said.stderr
    assert not profile.exists()


def answer(answers, *arguments):
    """The command with a terminal for its standard input, on which the answers are typed."""
    if os.name == "nt":
        pytest.skip("a terminal is stood in for by a POSIX pseudo-terminal, which Windows lacks")
    ours, theirs = os.openpty()
    try:
        os.write(ours, "".join(f"{a}\n" for a in answers).encode())
        return subprocess.run(
            [sys.executable, "-m", "shiftlog", *map(str, arguments)], stdin=theirs, capture_output=True,
            encoding="utf-8", env={**os.environ, "PYTHONPATH": str(PROJECT), "PYTHONIOENCODING": "utf-8"}, timeout=60,
        )  # fmt: skip
    finally:
        os.close(ours)
        os.close(theirs)


def test_on_a_terminal_short_questions_make_the_profile(tmp_path):
    profile = tmp_path / "asked.toml"
    said = answer(["My coupe", "1-2,3-4,5-R", "3-4", "fast", "6800", "", "", ""], "car", profile)
    assert said.returncode == 0, said.stderr
    assert "'fast' is no number above 0" in said.stdout
    made = read(profile)
    assert made["car"] == {"name": "My coupe", "redline_rpm": 6800}
    assert made["gate"]["home"] == "3-4" and "gearbox" not in made


def test_on_a_terminal_nothing_is_asked_that_the_options_settle(tmp_path):
    said = answer([], "car", tmp_path / "given.toml", "--planes", "1-2,3-4")
    assert said.returncode == 0, said.stderr
    assert read(tmp_path / "given.toml")["gate"]["plane_pitch_mm"] == GateLayout(planes=()).plane_pitch_mm


def test_on_a_terminal_what_was_learnt_is_offered_and_may_be_declined(full_drive, tmp_path):
    profile = tmp_path / "car.toml"
    profile.write_bytes((full_drive / "car.toml").read_bytes())
    before = profile.read_bytes()
    said = answer(["n"], "car", profile, "--from-drive", full_drive)
    assert said.returncode == 0 and "rpm per km/h" in said.stdout
    assert profile.read_bytes() == before
    assert answer(["y"], "car", profile, "--from-drive", full_drive).returncode == 0
    assert "learnt_rpm_per_kmh" in read(profile)["gearbox"]
