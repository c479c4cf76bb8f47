"""`shiftlog job`: the record of a visit on the command line."""

import json
import sqlite3

import pytest
from PIL import Image


@pytest.fixture
def workshop(call, make_drive, tmp_path):
    folder = tmp_path / "workshop"
    assert call("measure", make_drive(), "--workshop", folder).returncode == 0
    return folder


@pytest.fixture
def job(call, workshop):
    def job_command(*arguments):
        return call("job", arguments[0], *arguments[1:], "--workshop", workshop)

    assert job_command("new", "Test car", "Third gear grinds", "--by", "AB").returncode == 0
    return job_command


def test_a_job_is_begun_filled_in_and_shown(job, tmp_path):
    Image.new("RGB", (30, 20), "red").save(tmp_path / "plug.png")
    assert job("set", 1, "shifts", "2-3", "plug", "paste", "fluid", "1.9 l <b>oil</b>").returncode == 0
    assert job("add", 1, "play", "fork to sleeve; 0.35; mm").returncode == 0
    assert job("add", 1, "play", "lever ball; 1.2; mm").returncode == 0
    assert job("add", 1, "photo", tmp_path / "plug.png", "--of", "plug", "--caption", "fine paste").returncode == 0
    said = job("show", 1).stdout
    for line in ("Third gear grinds", "Which shifts: 2-3", "fork to sleeve; 0.35; mm", "lever ball; 1.2; mm",
                 "1.9 l <b>oil</b>", "photo of plug: fine paste (30 × 20)"):  # fmt: skip
        assert line in said
    assert json.loads(job("show", 1, "--json", "-").stdout)["job"]["shifts"] == ["2-3"]
    assert "Test car" in job("list").stdout


def test_drives_of_the_workshop_are_named_and_others_refused(job, make_drive):
    assert job("add", 1, "drive", make_drive("another"), "--side", "after").returncode == 0
    assert "Drives after the work: " in job("show", 1).stdout
    assert job("set", 1, "drives_before", "0123456789ab").returncode == 2


def test_a_version_changed_behind_the_back_is_said_wherever_it_is_shown(job, workshop):
    job("set", 1, "fluid", "1.9 l")
    job("set", 1, "done", "cable set")
    db = sqlite3.connect(workshop / "workshop.sqlite")
    with db:
        db.execute("DROP TRIGGER job_version_is_never_edited")
        db.execute("UPDATE job_version SET document = replace(document, '1.9 l', '2.5 l') WHERE version = 3")
    db.close()
    for shown in ("show", "history"):
        assert "job 1, version 3: was changed by something other than shiftlog" in job(shown, 1).stderr


def test_history_tells_what_each_version_changed(job):
    job("set", 1, "fluid", "1.9 l", "--by", "CD")
    job("set", 1, "fluid", "2.1 l", "--by", "EF")
    said = job("history", 1).stdout
    assert "Version 4" in said and " by EF" in said and "Fluid: 2.1 l (was: 1.9 l)" in said
    assert "Fluid: 1.9 l" in job("show", 1, "--version", 3).stdout


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("set", 1, "fluid"), "has no text"), (("set", 1, "colour", "red"), "is no field"),
        (("show", 9), "is not in the workshop"), (("new", "Another car"), "is no car of this workshop"),
        (("add", 1, "photo", "nothing.jpg"), "cannot be read"), (("show", "x"), "invalid int value"),
    ],
)  # fmt: skip
def test_what_cannot_be_meant_ends_in_one_line_and_code_2(job, call, arguments, said):
    try:
        ended = job(*arguments)
    except SystemExit as usage:
        assert usage.code == 2
        return
    assert ended.returncode == 2
    assert said in ended.stderr and ended.stderr.count("\n") == 1


def test_there_is_no_workshop_there(call, tmp_path):
    ended = call("job", "list", "--workshop", tmp_path / "none")
    assert ended.returncode == 2 and "is no workshop" in ended.stderr
