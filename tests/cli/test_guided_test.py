"""`shiftlog test`: marked spans, typed spans, several drives, and drives that have none."""

import json
import re
import shutil

import pytest

from shiftlog.cli import main
from shiftlog.commands.guided_test import _cell
from shiftlog.model.guided import Figure
from tests.guided.made_lever import Spring
from tests.guided.made_release import MadeRelease


@pytest.fixture(scope="module")
def drives(tmp_path_factory):
    folder = tmp_path_factory.mktemp("guided")
    sound = MadeRelease(seed=1, each=4, spring=Spring(friction_mm=0.3))
    stuck = MadeRelease(seed=2, each=4, stick=1.0, configuration="cables off")
    return [made.make().write(folder / name) for made, name in ((sound, "sound"), (stuck, "stuck"))]


def test_it_says_what_the_span_says(drives, capsys):
    assert main(["test", "release", str(drives[0])]) == 0
    said = capsys.readouterr().out
    assert "came home to 3-4 every time: 0 of 8" in said
    assert "hysteresis" in said and "Doubt: " in said and "Caution: " in said


def test_several_drives_stand_side_by_side(drives, capsys, tmp_path):
    target = tmp_path / "out.json"
    assert main(["test", "release", *map(str, drives), "--json", str(target)]) == 0
    said = capsys.readouterr().out
    assert "sound" in said and "stuck, cables off" in said
    assert "the lever has no return" in said.replace("\n    ", " ")
    document = json.loads(target.read_text(encoding="utf-8"))
    assert [span["drive"] for span in document["spans"]] == ["sound", "stuck"]
    assert document["configurations"]["configurations"] == ["complete", "cables off"]


def test_a_copy_with_other_marks_is_no_further_evidence(drives, capsys, tmp_path):
    copy = shutil.copytree(drives[0], tmp_path / "copy")
    marks = (copy / "drive.toml").read_text(encoding="utf-8")
    later = re.sub(r"(?m)^start_s = ([\d.]+)", lambda found: f"start_s = {float(found[1]) + 0.5:.3f}", marks)
    assert later != marks
    (copy / "drive.toml").write_text(later, encoding="utf-8")
    assert main(["test", "release", str(drives[0]), str(copy)]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "copy and sound hold the same log (lever.csv)" in said and "no evidence beside one another" in said
    assert main(["neutral", str(drives[0]), str(copy)]) == 0
    assert "what is marked in copy alone does not count" in capsys.readouterr().err


def test_a_drive_without_such_a_span_says_how_to_mark_one(drives, capsys):
    assert main(["test", "lockout", str(drives[0])]) == 2
    said = capsys.readouterr().err
    assert '[[test]] kind = "lockout"' in said and "--span" in said


def test_a_span_can_be_typed(drives, capsys):
    assert main(["test", "release", str(drives[0]), "--span", "22", "35", "--configuration", "tower by hand"]) == 0
    said = capsys.readouterr().out
    assert "22.0 to 35.0 s, tower by hand" in said


@pytest.mark.parametrize(
    ("arguments", "word"),
    [
        (["--span", "30", "20"], "not after"),
        (["--configuration", "complete"], "--span"),
        (["--span", "20", "x"], "is no number"),
        (["--span", "20", "30", "--waits", "5"], "--waits: seconds above 0, for spin_down"),
    ],
)
def test_what_is_typed_wrong_is_said_in_one_line(drives, capsys, arguments, word):
    try:
        code = main(["test", "release", str(drives[0]), *arguments])
    except SystemExit as stop:
        code = stop.code
    said = capsys.readouterr().err
    assert code == 2 and word in said and len(said.splitlines()) == 1


def test_clearances_are_elsewhere(drives, capsys):
    assert main(["test", "clearance", str(drives[0])]) == 2
    assert "shiftlog cables" in capsys.readouterr().err


def test_a_span_that_runs_out_of_the_logs_is_refused(drives, capsys):
    assert main(["test", "release", str(drives[0]), "--span", "1", "9000"]) == 2
    said = capsys.readouterr().err
    assert "lies beyond sound, whose logs end at" in said and said.count("\n") == 1


def test_spans_of_which_nothing_could_be_measured_set_the_exit_code(drives, capsys):
    assert main(["test", "jump_out", str(drives[0]), "--span", "20", "40"]) == 2
    assert "Not measured: " in capsys.readouterr().out


def test_what_a_result_points_to_is_printed(drives, capsys):
    assert main(["test", "release", str(drives[1]), "--span", "20", "40"]) == 0
    assert "Points to parts outside the gearbox: " in capsys.readouterr().out


@pytest.mark.parametrize(("value", "shown"), [(440.87, "441 ± 17"), (9.965, "9.96 ± 17.00"), (-26.04, "-26.0 ± 17.0")])
def test_figures_have_three_significant_digits_at_most(value, shown):
    assert _cell(Figure(key="k", label="l", unit="rpm", value=value, uncertainty=17.0)) == shown
