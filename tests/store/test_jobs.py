"""The record of a job: every version stays, two hands never overwrite each other, and nothing is changed unseen."""

import re
import sqlite3
from dataclasses import fields

import pytest

from shiftlog.errors import StoreError
from shiftlog.model.job import FIELD_OF, FIELDS, Job, Part, Play, Replaced
from shiftlog.store.job_values import find_changes, read_value, say_value
from shiftlog.store.jobs import Jobs
from shiftlog.store.workshop import REGISTER, Workshop

TYPED = {
    "complaint": 'Second gear "crunches" when cold\n<script>alert(1)</script>',
    "symptoms": "grinds, refuses", "shifts": "1-2, 2-1", "temperature": "cold", "odometer_km": "123456,5",
    "play": "fork to sleeve; 0,35; mm\nlever ball; 1.2; mm", "parts": "second cone; dull, no grooves",
    "replaced": "cone ring; A-17", "engage_turns": "-1.5", "signed_on": "2026-10-31", "plug": "brass flakes",
}  # fmt: skip


@pytest.fixture
def jobs(tmp_path):
    return Jobs(Workshop.open(tmp_path / "workshop"))


def test_every_version_stays_as_it_was_saved(jobs):
    first = jobs.new(Job(car="Test car"), by="AB")
    second = jobs.set(first.id, TYPED, by="CD")
    third = jobs.set(first.id, {"complaint": "something else", "play": ""}, by="EF")
    assert [v.version for v in jobs.history(first.id)] == [1, 2, 3]
    assert [v.by for v in jobs.history(first.id)] == ["AB", "CD", "EF"]
    again = jobs.job(first.id, 2).job
    assert again == second.job and again.complaint == TYPED["complaint"]
    assert again.play == (
        Play(where="fork to sleeve", value=0.35, unit="mm"), Play(where="lever ball", value=1.2, unit="mm"),
    )  # fmt: skip
    assert again.parts == (Part(part="second cone", wear="dull, no grooves"),)
    assert again.replaced == (Replaced(part="cone ring", number="A-17"),)
    assert (again.odometer_km, again.engage_turns) == (123456.5, -1.5)
    assert third.job.play == () and jobs.job(first.id) == third
    changed = {label for label, _, _ in find_changes(second.job, third.job)}
    assert changed == {"The client's own words", "Measured play"}


def test_nothing_changed_makes_no_version(jobs):
    first = jobs.new(Job(car="Test car", complaint="x"))
    assert jobs.set(first.id, {"complaint": "x"}).version == 1


def test_two_hands_never_overwrite_each_other(jobs):
    base = jobs.new(Job(car="Test car"))
    jobs.save(base, Job(car="Test car", fluid="1.9 l"), by="first")
    with pytest.raises(StoreError, match="version 2 was saved meanwhile, yours began from 1"):
        jobs.save(base, Job(car="Test car", fluid="2.1 l"), by="second")
    assert jobs.job(base.id).job.fluid == "1.9 l"


@pytest.mark.parametrize("change", ["UPDATE job_version SET by = 'x'", "DELETE FROM job_version"])
def test_the_register_refuses_to_change_or_remove_a_version(jobs, tmp_path, change):
    jobs.new(Job(car="Test car"))
    db = sqlite3.connect(tmp_path / "workshop" / REGISTER)
    with pytest.raises(sqlite3.IntegrityError, match="is never"):
        db.execute(change)
    db.close()


def test_a_version_that_was_changed_behind_the_back_is_told(jobs, tmp_path):
    first = jobs.new(Job(car="Test car", fluid="1.9 l"))
    jobs.set(first.id, {"done": "cable set"})
    db = sqlite3.connect(tmp_path / "workshop" / REGISTER)
    with db:
        db.execute("DROP TRIGGER job_version_is_never_edited")
        db.execute("UPDATE job_version SET document = replace(document, '1.9 l', '2.5 l') WHERE version = 1")
    db.close()
    assert [v.sealed for v in jobs.history(first.id)] == [False, True]


def test_a_workshop_from_before_there_were_jobs_gets_them(tmp_path):
    Workshop.open(tmp_path / "old")
    db = sqlite3.connect(tmp_path / "old" / REGISTER)
    with db:
        db.execute("DROP TABLE job_version")
    db.close()
    assert Jobs(Workshop.open(tmp_path / "old")).new(Job(car="Test car")).id == 1


@pytest.mark.parametrize(
    ("key", "text", "said"),
    [
        ("odometer_km", "123,456", "may be two numbers"), ("odometer_km", "118.600", "may be two numbers"),
        ("odometer_km", "many", "is no number"), ("odometer_km", "nan", "is no number"),
        ("shifts", "second", "is no shift"), ("signed_on", "yesterday", "is no date"),
        ("play", "fork; much; mm", "is no number"), ("play", "fork; 0.3", "has no unit"),
        ("parts", "a; b; c", "a row is: part; what was seen"), ("plug", "gold", "is none of none, paste"),
        ("symptoms", "grinds, dances", "is none of"), ("colour", "red", "is no field of a job"),
        ("found", "x" * 20_001, "20000 are the most"), ("recheck_km", "-5", "-5 cannot be meant; give 1 to 3000000"),
        ("recheck_km", "0", "cannot be meant"), ("odometer_km", "-1", "cannot be meant; give 0 to"),
        ("engage_turns", "400", "400 cannot be meant; give -50 to 50"),
        ("play", "fork; -0.3; mm", "-0.3 cannot be meant"),
        ("shifts", "3-3", "3-3 leads nowhere"), ("signed_on", "2099-01-01", "2099-01-01 is yet to come"),
    ],
)  # fmt: skip
def test_what_cannot_be_meant_is_refused_in_one_line_and_nothing_is_saved(jobs, key, text, said):
    first = jobs.new(Job(car="Test car"))
    with pytest.raises(StoreError, match=said) as caught:
        jobs.set(first.id, {key: text, "fluid": "1.9 l"})
    assert "\n" not in str(caught.value)
    assert len(jobs.history(first.id)) == 1


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("fork\x00 bent", "found: letter 5 is a control character (U+0000)"),
        ("\x1b[31mred", "found: letter 1 is a control character (U+001B)"), ("\x85", "U+0085"), ("good\rbad", "U+000D"),
        ("ru\udcff", "found: letter 3 is half a letter (U+DCFF)"),
    ],
)  # fmt: skip
def test_letters_that_cannot_be_kept_are_refused_and_nothing_is_saved(jobs, text, said):
    first = jobs.new(Job(car="Test car"))
    with pytest.raises(StoreError, match=re.escape(said)) as caught:
        jobs.set(first.id, {"found": text, "fluid": "1.9 l"})
    assert "\n" not in str(caught.value) and str(caught.value).isprintable()
    assert len(jobs.history(first.id)) == 1
    with pytest.raises(StoreError, match="by: letter 2"):
        jobs.set(first.id, {"found": "fork"}, by="T\x07")


@pytest.mark.parametrize(
    "text",
    [
        "fork\tbent\n\n  ruß", "10\u00a0km \u2013 \u00ad", "\U0001f468\u200d\U0001f527 said", "\u05d0\u200f (left)",
        "one\r\ntwo\n", "  - first\n  - second", "a\u2028b",
    ],
)  # fmt: skip
def test_every_other_letter_stays_as_it_was_typed(jobs, text):
    first = jobs.new(Job(car="Test car"))
    assert jobs.set(first.id, {"found": text}).job.found == text
    assert jobs.job(first.id).job.found == text


def test_a_row_keeps_letters_that_only_look_like_line_ends(jobs):
    first = jobs.new(Job(car="Test car"))
    (part,) = jobs.append(first.id, "parts", "cone\u2028ring; worn").job.parts
    assert part.part == "cone\u2028ring"


def test_every_field_of_a_job_can_be_typed_and_reads_back():
    assert {f.key for f in FIELDS} == {f.name for f in fields(Job)} - {"photos"}
    for field in FIELDS:
        text = TYPED.get(field.key, "")
        assert read_value(field, say_value(field, read_value(field, text))) == read_value(field, text)


def test_there_is_no_such_job_or_version(jobs):
    first = jobs.new(Job(car="Test car"))
    with pytest.raises(StoreError, match="is not in the workshop"):
        jobs.job(99)
    with pytest.raises(StoreError, match="has no version 7; it has 1 to 1"):
        jobs.job(first.id, 7)


def test_a_row_that_is_there_twice_stays_twice_and_a_drive_counts_once(jobs):
    first = jobs.new(Job(car="Test car"))
    for _ in range(2):
        jobs.append(first.id, "replaced", "cone ring; A-17")
        jobs.append(first.id, "drives_before", "d1")
    job = jobs.job(first.id).job
    assert len(job.replaced) == 2 and job.drives_before == ("d1",)


def test_a_semicolon_in_a_cell_stays_as_it_was_typed(jobs):
    first = jobs.new(Job(car="Test car"))
    cells = [["cone; outer", "dull; no grooves"], ["C:\\", r"a\; b"], ["ring", ""]]
    parts = jobs.set(first.id, {"parts": cells}).job.parts
    assert [[p.part, p.wear] for p in parts] == cells
    field = FIELD_OF["parts"]
    assert read_value(field, say_value(field, parts)) == parts
    assert read_value(field, r"cone\; outer; dull") == (Part(part="cone; outer", wear="dull"),)
    with pytest.raises(StoreError, match="a cell holds one line"):
        jobs.set(first.id, {"parts": [["one\ntwo", ""]]})


@pytest.fixture
def dated(tmp_path):
    """A workshop with a car of four gears and three drives on three days, and its jobs. ids : by name"""
    workshop, ids = Workshop.open(tmp_path / "workshop"), {}
    (tmp_path / "car.toml").write_text(
        'format = 1\n[car]\nname = "Test car"\n[gate]\nhome = "3-4"\n'
        'planes = [{ forward = "1", rear = "2" }, { forward = "3", rear = "4" }]\n'
    )
    for day, name in enumerate(("first", "second", "third"), start=1):
        folder = tmp_path / name
        folder.mkdir()
        (folder / "lever.csv").write_text(f"t,x\n0,{day}\n")
        (folder / "drive.toml").write_text(
            f'format = 1\n[drive]\nid = "{name}"\nstarted = 2026-10-0{day}T09:00:00\n[car]\nprofile = "../car.toml"\n'
            '[[recording]]\nname = "lever"\nfile = "lever.csv"\nplace = "lever"\n'
        )
        ids[name] = workshop.add_drive(folder)
    return Jobs(workshop), ids


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"shifts": "2-9"}, "shifts: 2-9: Test car has no gear 9; it has 1, 2, 3, 4"),
        ({"shifts": "7"}, "has no gear 7"),
        ({"drives_before": "second", "drives_after": "first"}, "began 2026-10-01 09:00, earlier than"),
        ({"drives_after": "third", "drives_recheck": "second"}, "earlier than .* after the work .2026-10-03 09:00"),
        ({"drives_before": "first", "drives_after": "first"}, "is a drive before the work already"),
        ({"drives_before": "second", "signed_on": "2026-10-01"}, "is earlier than the first drive before the work"),
    ],
)  # fmt: skip
def test_what_fields_cannot_mean_together_is_refused_in_one_line(dated, given, said):
    jobs, ids = dated
    first = jobs.new(Job(car="Test car"))
    with pytest.raises(StoreError, match=said) as caught:
        jobs.set(first.id, {key: ids.get(text, text) for key, text in given.items()})
    assert "\n" not in str(caught.value) and len(jobs.history(first.id)) == 1


def test_occasions_in_their_order_are_taken_and_a_corrected_clock_helps(dated):
    jobs, ids = dated
    first = jobs.new(Job(car="Test car"))
    sides = dict(zip(("drives_before", "drives_after", "drives_recheck"), ids.values(), strict=True))
    given = {**sides, "shifts": "2-3, R", "signed_on": "2026-10-02", "recheck_km": "500"}
    assert jobs.set(first.id, given).version == 2
    other = jobs.new(Job(car="Test car"))
    wrong = {"drives_before": ids["third"], "drives_after": ids["first"]}
    with pytest.raises(StoreError, match="correct `started`"):
        jobs.set(other.id, wrong)
    file = next((jobs.photo_folder.parent / "drives" / ids["third"]).glob("*/drive.toml"))
    file.write_text(file.read_text().replace("2026-10-03", "2026-09-30"))
    assert jobs.set(other.id, wrong).version == 2


def test_a_record_that_holds_nonsense_already_can_still_be_read_and_filled_in(dated):
    jobs, ids = dated
    first = jobs.new(Job(car="Test car", shifts=("2-9",), recheck_km=-5.0, drives_before=(ids["first"],)))
    assert jobs.job(first.id).job.recheck_km == -5.0
    assert jobs.set(first.id, {"fluid": "1.9 l"}).version == 2
    with pytest.raises(StoreError, match="has no gear 8"):
        jobs.set(first.id, {"shifts": "2-9, 2-8"})
