"""Findings and synchronisers on the drive's page."""

import json

from dashboard.parts.findings import finding_sections, synchro_sections
from dashboard.routes import Place, Query
from dashboard.views.drive import layout
from shiftlog.model.result import Finding, Summary, SynchroRow
from shiftlog.model.share import Share

HERE = Place(page="drive", car="Test coupe", visit="after", drive="warm-2")


def text_of(parts) -> str:
    return json.dumps(parts, default=lambda c: c.to_plotly_json(), ensure_ascii=False)


def test_a_finding_links_its_shifts_and_stands_with_its_caution(make_result):
    finding = Finding(
        what="Teeth clashed into 3 only.", evidence=("shift 14", "a test: p = 0.001"), look_at=("the cone",),
        also_looks_like=("a quick hand",), next_test="ten more shifts", shifts=(14,),
        notes=("Not counted: 2 grinds.",),
    )  # fmt: skip
    said = text_of(finding_sections(make_result(findings=(finding,)), HERE, Query()))
    assert "What stands out" in said and "/car/Test%20coupe/after/warm-2/14" in said
    for part in (
        "Teeth clashed into 3 only.",
        "the cone",
        "a quick hand",
        "ten more shifts",
        "p = 0.001",
        "Not counted: 2 grinds.",
    ):
        assert part in said
    assert said.index("No diagnosis") < said.index("Teeth clashed")


def test_nothing_stands_on_the_page_where_nothing_stands_out(make_result):
    assert finding_sections(make_result(), HERE, Query()) == [] and synchro_sections(make_result()) == []


def test_the_synchronisers_have_their_figures_or_the_reason(make_result):
    known = SynchroRow(
        gear="3", direction="up", band="cold", side="hub", n=8, shifts=(1,), reading="crash through it", offset_ms=1.0,
        slope_ms_per_krpm=71.3, u_ms_per_krpm=4.0, interval95=(62.4, 78.1),
        crash_through=Share(k=5, n=6, low=0.359, high=0.996),
    )  # fmt: skip
    bare = SynchroRow(
        gear="4", direction="down", band="not known", side="engine", n=0, shifts=(2,), reading="not known",
        unmeasured={"synchro_slope_ms_per_krpm": "too few of them", "crash_through_share": "not heard"},
    )  # fmt: skip
    said = text_of(synchro_sections(make_result(summary=Summary(synchro=(known, bare)))))
    assert "71 (62 to 78)" in said and "◆" in said and "5 of 6" in said and "below 40 °C" in said
    assert "too few of them" in said and "not heard" in said and "at the engine" in said
    # In the open, not on hover alone.
    assert said.count('"className": "why"') == 2 and '"title": "too few of them"' not in said


def test_the_page_of_a_measured_drive_holds_the_synchronisers(measured_workshop):
    library, drive_ids = measured_workshop
    drive_id = drive_ids["before"]
    assert library.result(drive_id).summary.synchro
    place = Place(page="drive", car="any", visit="before", drive=drive_id)
    assert "How the synchronisers work" in text_of([layout(place, Query(), library)])
