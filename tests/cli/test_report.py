"""`shiftlog report` and `shiftlog verify` on real drive folders."""

import json
import shutil

import pytest

from .conftest import lever_rows

LATER = lever_rows(("1", "2", "3", "4", "5", "4", "3"))


@pytest.fixture
def workshop(call, make_drive, tmp_path):
    """A workshop with two measured drives, and a job that names them."""
    folder = tmp_path / "workshop"
    for name, rows in (("before", None), ("after", LATER)):
        assert call("measure", make_drive(name, rows=rows), "--workshop", folder).returncode == 0
    assert call("job", "new", "Test car", "Grinds", "--workshop", folder).returncode == 0
    for side in ("before", "after"):
        call("job", "add", 1, "drive", tmp_path / side, "--side", side, "--workshop", folder)
    return folder


def test_a_page_of_a_job_is_written_and_verified(call, workshop, tmp_path):
    page = tmp_path / "page.html"
    said = call("report", page, "--job", 1, "--workshop", workshop, "--language", "de")
    assert said.returncode == 0, said.stderr
    assert len(said.stdout.splitlines()) == 4 and "Grinds" in page.read_text(encoding="utf-8")
    said = call("verify", page, "--workshop", workshop)
    assert said.returncode == 0 and "figures are the same" in said.stdout


def test_a_drive_deleted_from_disk_leaves_the_page_standing(call, workshop, tmp_path):
    page = tmp_path / "page.html"
    shutil.rmtree(next((workshop / "drives").iterdir()))
    assert call("report", page, "--job", 1, "--workshop", workshop).returncode == 0  # results stay
    said = call("verify", page, "--workshop", workshop, "--json", tmp_path / "out.json")
    assert said.returncode == 2 and "logs are gone" in said.stdout
    document = json.loads((tmp_path / "out.json").read_text(encoding="utf-8"))
    assert document["same"] is False and 0 < document["checked"] < document["carried"]


def test_a_changed_log_and_a_changed_page_are_told(call, workshop, tmp_path):
    page = tmp_path / "page.html"
    call("report", page, "--job", 1, "--workshop", workshop)
    log = next((workshop / "drives").glob("*/after/lever.csv"))
    log.write_text(log.read_text() + "99,1,2\n")
    page.write_text(page.read_text(encoding="utf-8").replace("Grinds", "Grinds not"), encoding="utf-8")
    said = call("verify", page, "--workshop", workshop)
    assert said.returncode == 2
    assert "was changed after it was made" in said.stdout and "lever.csv was changed since" in said.stdout


def test_a_page_of_folders_is_verified_from_folders(call, make_drive, tmp_path):
    before, after, page = make_drive("one"), make_drive("two", rows=LATER), tmp_path / "page.html"
    assert call("report", page, "--before", before, "--after", after).returncode == 0
    moved = tmp_path / "elsewhere"
    before.rename(moved)
    said = call("verify", page, "--drive", moved, after)
    assert said.returncode == 0, said.stdout
    assert call("verify", page).returncode == 2


@pytest.mark.parametrize(
    ("arguments", "said"),
    [((), "give --job N, or drives"), (("--job", 9), "is not in the workshop"), (("--job", 2), "has no drive")],
)
def test_what_cannot_be_reported_ends_in_one_line(call, workshop, tmp_path, arguments, said):
    call("job", "new", "Test car", "--workshop", workshop)
    ended = call("report", tmp_path / "page.html", "--workshop", workshop, *arguments)
    assert ended.returncode == 2 and said in ended.stderr and ended.stderr.count("\n") == 1


def test_forbidden_claims_typed_by_the_workshop_are_pointed_out(call, workshop, tmp_path):
    call("job", "set", 1, "done", "shifts as new", "--workshop", workshop)
    said = call("report", tmp_path / "page.html", "--job", 1, "--workshop", workshop)
    assert said.returncode == 0 and "says 'as new', which no figure shows" in said.stderr


def test_a_card_is_printed_for_a_job_and_for_a_car_alone(call, workshop, make_drive, tmp_path):
    said = call("card", tmp_path / "card.html", "--job", 1, "--workshop", workshop, "--side", "before")
    assert said.returncode == 0 and "1 of 3 drives" in said.stdout and "Over-revving" in said.stdout
    assert "<h1>Road-test card, Test car</h1>" in (tmp_path / "card.html").read_text(encoding="utf-8")
    drive = make_drive("more")
    said = call("card", "--car", drive / "car.toml", "--shifts", "2-3", "--driven", drive, "--language", "de")
    assert said.returncode == 0 and "Überdrehen zerstört Motoren" in said.stdout
    assert call("card").returncode == 2
    assert call("card", "--car", drive / "car.toml", "--shifts", "second").returncode == 2
