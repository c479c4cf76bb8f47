"""The pages of a job: the record, what was typed into it, the card and the client's page."""

import io
import json
from dataclasses import replace

import pytest
from PIL import Image

from dashboard.app import make_app, page
from dashboard.desk import card_plan, report_content, report_page
from dashboard.library import Library
from dashboard.parts.job_form import form_sections
from dashboard.routes import JOBS, Place, Query, read_path, write_path
from dashboard.views.job import typed_fields
from shiftlog.errors import StoreError
from shiftlog.model.job import FIELDS, Job, Part, Play
from shiftlog.report.figures import pooled_figures
from shiftlog.report.page import Wishes
from shiftlog.store.job_values import read_value

from .test_pages import text_of


@pytest.fixture
def library(empty_library, car) -> Library:
    empty_library.save_car(car)
    return empty_library


@pytest.fixture
def version(library):
    job = Job(
        car="Test coupe", complaint="It <b>grinds</b>; badly", symptoms=("grinds",), shifts=("2-3",), plate="AB 1234",
        play=(Play(where="fork", value=0.35, unit="mm"),), parts=(Part(part="cone", wear="dull"),), engage_turns=-1.5,
    )  # fmt: skip
    return library.jobs.new(job)


@pytest.mark.parametrize("path", ["/job", "/job/3", "/job/3/2", "/job/3/card", "/job/3/report"])
def test_addresses_of_jobs_lead_there_and_back(path):
    assert write_path(read_path(path)) == path


@pytest.mark.parametrize("path", ["/job/x", "/job/3/x", "/job/3/card/1", "/job/-1", "/job/²", "/job/99999999999"])
def test_addresses_that_lead_nowhere_are_lost(path):
    assert read_path(path).page == "lost"


def fields_of(component) -> tuple[list, list]:
    """Every field and cell of a form as the browser would send them."""
    found = [], []
    for part in component._traverse():
        name = getattr(part, "id", None)
        if isinstance(name, dict) and hasattr(part, "value"):
            found[name["type"] == "job-cell"].append({"id": name, "value": part.value})
    return found


def test_a_form_that_is_saved_untouched_changes_nothing(library, version):
    typed = {}
    for section in form_sections(version, [], ["Test coupe"]):
        typed |= typed_fields(*fields_of(section))
    assert typed.keys() == {f.key for f in FIELDS}
    assert {f.key: read_value(f, typed[f.key]) for f in FIELDS} == {f.key: getattr(version.job, f.key) for f in FIELDS}
    assert library.jobs.set(version.id, typed, seen=version.version) == version


def test_rows_of_a_table_keep_their_order_and_cells_cannot_break_it():
    cells = [
        {"id": {"key": "parts", "row": row, "column": column}, "value": value}
        for row, values in enumerate([("a; b", "x\ny"), ("", ""), ("c", None)])
        for column, value in enumerate(values)
    ]
    assert typed_fields([], cells)["parts"] == [["a; b", "x\ny"], ["c", ""]]


def test_the_record_shows_what_was_typed_as_text_and_every_version(library, version):
    library.jobs.set(version.id, {"fluid": "1.9 l"}, by="T.")
    said = text_of(page(Place(page="job", job=1), Query(), library))
    for text in ("It <b>grinds</b>; badly", "Version 2 of", "1.9 l", "Read this version", "Save as a new version"):
        assert text in said
    was = text_of(page(Place(page="job", job=1, version=1), Query(), library))
    assert "fork, 0.35, mm" in was and "1.9 l" not in was and "Save as a new version" not in was
    assert "There is no such job" in text_of(page(Place(page="job", job=9), Query(), library))


def test_the_list_names_the_jobs_and_begins_another(library, version):
    said = text_of(page(JOBS, Query(), library))
    assert "Job 1" in said and "It <b>grinds</b>; badly" in said and "Begin the job" in said


def test_without_a_car_a_job_has_nothing_to_begin_with(empty_library):
    assert "Make a car's profile" in text_of(page(JOBS, Query(), empty_library))


def test_pages_without_drives_say_what_to_do_next(library, version):
    said = text_of(page(Place(page="job_report", job=1), Query(), library))
    assert (
        "has no drive before or after the work yet; choose its drives in the record" in said and "To the record" in said
    )
    assert "Nothing has been driven" in text_of(page(Place(page="job_card", job=1), Query(), library))
    with pytest.raises(StoreError):
        report_page(library, 1, Wishes())


def test_the_card_uses_the_cars_own_profile(library, version):
    plan = card_plan(library, 1, None)
    assert plan.redline_rpm == 7400.0 and any(line.kind == "2-3" and line.wanted == 10 for line in plan.shifts)


@pytest.fixture
def client(library):
    return make_app(library).server.test_client()


def test_a_photo_is_sent_shown_and_kept_with_the_job(client, library, version):
    picture = io.BytesIO()
    Image.new("RGB", (900, 600), "gold").save(picture, "PNG")
    said = client.put("/made/job/1/photo?name=p.png&of=plug&caption=flakes", data=picture.getvalue()).get_json()
    assert (said["version"], said["words"]) == (2, "plug: flakes")
    shown = client.get(f"/made/photo/{said['sha256']}.jpg")
    assert shown.mimetype == "image/jpeg" and Image.open(io.BytesIO(shown.data)).size == (480, 320)
    assert client.get(f"/made/photo/{'0' * 64}.jpg").status_code == 404


@pytest.mark.parametrize(
    ("address", "data", "said"),
    [
        ("/made/job/1/photo?name=p.png", b"no picture", "p.png: is no photo"),
        ("/made/job/1/photo?name=p.png", b"", "p.png: is no photo"),
        ("/made/job/9/photo?name=p.png", b"x", "job 9: is not in the workshop"),
    ],
)
def test_what_is_no_photo_is_answered_in_one_line(client, version, address, data, said):
    assert said in client.put(address, data=data).get_json()["why"]


def test_a_page_elsewhere_may_send_no_photo(client, version):
    answer = client.put("/made/job/1/photo", data=b"x", headers={"Origin": "http://elsewhere.example"})
    assert answer.status_code == 403


def test_what_is_made_is_served_with_its_choices(client, library, version, measured_workshop):
    card = client.get("/made/job/1/card.html?language=de&speed=mph&side=after")
    assert card.status_code == 200 and "Karte für die Probefahrt" in card.text and "mph" in card.text
    assert client.get("/made/job/1/report.html").status_code == 409
    assert client.get("/made/job/1/card.exe").status_code == 404
    assert client.get("/made/job/1/card.html?language=xx").status_code == 409


def test_a_recheck_has_a_part_of_its_own_and_counts_on_no_side(measured_workshop):
    library, ids = measured_workshop
    sides = {"drives_before": (ids["before"],), "drives_after": ()}
    begun = library.jobs.new(Job(car=library.entry(ids["before"]).car, complaint="x", **sides))
    alone = report_content(library, begun.id)
    library.jobs.set(begun.id, {"drives_recheck": ids["after"]})
    content = report_content(library, begun.id)
    assert [d.id for d in content.recheck] == [ids["after"]] and content.after == alone.after == ()
    assert pooled_figures(replace(content, later=None)) == pooled_figures(alone)
    assert "At the recheck" in report_page(library, begun.id, Wishes())


def test_a_report_of_measured_drives(measured_workshop):
    library, drive_ids = measured_workshop
    car = library.entry(drive_ids["before"]).car
    begun = library.jobs.new(Job(car=car, complaint="x", plate="AB 1234", done="cable set",
                                 drives_before=(drive_ids["before"],), drives_after=(drive_ids["after"],)))  # fmt: skip
    client = make_app(library).server.test_client()
    made = client.get(f"/made/job/{begun.id}/report.html?keep=1")
    assert made.status_code == 200 and "attachment" in made.headers["Content-Disposition"]
    assert "••••34" in made.text and "AB 1234" not in made.text
    assert "AB 1234" in client.get(f"/made/job/{begun.id}/report.html?plate=shown").text
    said = text_of(page(Place(page="job_report", job=begun.id), Query(), library))
    assert json.loads(said) and "What the complaint is about is not ticked in the record" in said
    library.jobs.set(begun.id, {"symptoms": "grinds"})
    assert "not ticked" not in text_of(page(Place(page="job_report", job=begun.id), Query(), library))
    library.jobs.set(begun.id, {"done": "shifts as new"})
    for ending in ("html", "pdf"):
        refused = client.get(f"/made/job/{begun.id}/report.{ending}")
        assert refused.status_code == 409 and "Other work says 'as new'" in refused.text
    said = text_of(page(Place(page="job_report", job=begun.id), Query(), library))
    assert "There is no page yet" in said and "Other work says 'as new'" in said and "To the record" in said
