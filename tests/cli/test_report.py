"""`shiftlog report` and `shiftlog verify` on real drive folders."""

import json
import shutil

import pytest
from PIL import Image

from shiftlog.report.provenance import page_seal, read_page

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
    Image.new("RGB", (1600, 900), "red").save(tmp_path / "plug.png")
    call("job", "add", 1, "photo", tmp_path / "plug.png", "--of", "plug", "--workshop", workshop)
    said = call("report", page, "--job", 1, "--workshop", workshop, "--language", "de")
    assert said.returncode == 0, said.stderr
    assert len(said.stdout.splitlines()) == 4 and "Grinds" in page.read_text(encoding="utf-8")
    said = call("verify", page, "--workshop", workshop)
    assert said.returncode == 0 and "figures are the same, and so is every word" in said.stdout
    text = page.read_text(encoding="utf-8")
    page.write_text(
        text.replace("data:image/jpeg;base64,/9j/4AAQ", "data:image/jpeg;base64,/9j/4BBQ", 1), encoding="utf-8"
    )
    said = call("verify", page, "--workshop", workshop)
    assert said.returncode == 2 and "the look of the page, its pictures or photos are not those" in said.stdout


def test_words_changed_with_the_seal_are_named_and_a_page_without_its_record_is_not_vouched_for(
    call, workshop, tmp_path
):
    page = tmp_path / "page.html"
    call("report", page, "--job", 1, "--workshop", workshop)
    said = call("verify", page, "--drive", *workshop.glob("drives/*/*/"))
    assert said.returncode == 2 and "job 1, version 4: its record is not at hand" in said.stdout
    read = read_page(page)
    text = read.text.replace("Is it better?", "It is better.")
    figures = json.dumps({**read.document, "page": page_seal(text)}).replace("<", "\\u003c")
    page.write_text(text.replace('figures"></script>', f'figures">{figures}</script>'), encoding="utf-8")
    said = call("verify", page, "--workshop", workshop)
    assert said.returncode == 2 and "was changed after it was made" not in said.stdout
    assert "the page says “It is better.”, it should be “Is it better?”" in said.stdout


@pytest.mark.parametrize(
    "change", [{"job": {"id": 1}}, {"limits": 3}, {"drives": {"before": [{"settings": {}}]}}, {"figures": None}]
)
def test_a_damaged_block_ends_verify_in_one_line_and_code_2(call, workshop, tmp_path, change):
    page = tmp_path / "page.html"
    call("report", page, "--job", 1, "--workshop", workshop)
    read = read_page(page)
    figures = json.dumps({**read.document, **change}).replace("<", "\\u003c")
    page.write_text(read.text.replace('figures"></script>', f'figures">{figures}</script>'), encoding="utf-8")
    said = call("verify", page, "--workshop", workshop)
    assert said.returncode == 2 and "figures are damaged" in said.stderr and said.stderr.count("\n") == 1


def test_a_drive_at_the_recheck_is_told_apart_and_verified(call, workshop, make_drive, tmp_path):
    page = tmp_path / "page.html"
    again = make_drive("again", rows=lever_rows(("1", "2", "3", "2", "3", "4")))
    call("job", "add", 1, "drive", again, "--side", "recheck", "--workshop", workshop)
    assert call("report", page, "--job", 1, "--workshop", workshop).returncode == 0
    assert "This was another occasion, with one drive" in page.read_text(encoding="utf-8")
    said = call("verify", page, "--workshop", workshop)
    assert said.returncode == 0, said.stdout


def test_a_drive_deleted_from_disk_leaves_the_page_standing(call, workshop, tmp_path):
    page = tmp_path / "page.html"
    shutil.rmtree(next((workshop / "drives").iterdir()))
    assert call("report", page, "--job", 1, "--workshop", workshop).returncode == 0  # results stay
    said = call("verify", page, "--workshop", workshop, "--json", tmp_path / "out.json")
    assert said.returncode == 2 and "logs are gone" in said.stdout
    assert "the words of the page cannot be held, as not all of its drives can be measured" in said.stdout
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


def test_a_page_with_a_forbidden_claim_of_the_workshop_is_not_made(call, workshop, tmp_path):
    page, pdf = tmp_path / "page.html", tmp_path / "page.pdf"
    call("job", "set", 1, "done", "shifts as new", "--workshop", workshop)
    said = call("report", page, "--job", 1, "--workshop", workshop, "--pdf", pdf)
    assert said.returncode == 2 and "Other work says 'as new'" in said.stderr and said.stderr.count("\n") == 1
    assert not page.exists() and not pdf.exists()
    assert "shifts as new" in call("job", "show", 1, "--workshop", workshop).stdout


def test_a_complaint_that_may_be_of_the_cold_gearbox_is_asked_about(call, workshop, tmp_path):
    said = call("job", "set", 1, "complaint", "Hakt morgens", "--workshop", workshop)
    asked = "The client's words “morgens” sound like cold. Ask"
    assert asked in said.stdout and asked in call("job", "show", 1, "--workshop", workshop).stdout
    said = call("report", tmp_path / "page.html", "--job", 1, "--workshop", workshop)
    assert said.returncode == 0 and asked in said.stderr and "nobody has settled" in said.stdout


def test_a_complaint_that_nobody_ticked_is_asked_about(call, workshop, tmp_path):
    asked = "what the complaint is about is not ticked in the record"
    said = call("report", tmp_path / "page.html", "--job", 1, "--workshop", workshop)
    assert said.returncode == 0 and asked in said.stderr
    call("job", "set", 1, "symptoms", "grinds", "--workshop", workshop)
    assert asked not in call("report", tmp_path / "page.html", "--job", 1, "--workshop", workshop).stderr


def test_a_card_is_printed_for_a_job_and_for_a_car_alone(call, workshop, make_drive, tmp_path):
    said = call("card", tmp_path / "card.html", "--job", 1, "--workshop", workshop, "--side", "before")
    assert said.returncode == 0 and "1 of 3 drives" in said.stdout and "Over-revving" in said.stdout
    assert "<h1>Road-test card, Test car</h1>" in (tmp_path / "card.html").read_text(encoding="utf-8")
    drive = make_drive("more")
    said = call("card", "--car", drive / "car.toml", "--shifts", "2-3", "--driven", drive, "--language", "de")
    assert said.returncode == 0 and "Überdrehen zerstört Motoren" in said.stdout
    assert call("card").returncode == 2
    assert call("card", "--car", drive / "car.toml", "--shifts", "second").returncode == 2
