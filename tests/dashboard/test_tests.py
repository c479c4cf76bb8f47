"""The results of guided tests: the answer first, figures beside earlier ones of the same car, what has none."""

import json
from dataclasses import replace
from types import SimpleNamespace

import pytest

from dashboard.parts.guided_result import interval, shown
from dashboard.routes import Place, Query
from dashboard.views import tests
from shiftlog.model.drive import MarkedTest
from shiftlog.model.guided import Figure, GuidedResult
from shiftlog.model.share import Share
from shiftlog.store.workshop import DriveEntry


def text_of(component) -> str:
    """Everything a page says."""
    return json.dumps(component.to_plotly_json(), default=lambda thing: thing.to_plotly_json(), ensure_ascii=False)


@pytest.fixture
def make_guided():
    def make(k: int = 6, **different) -> GuidedResult:
        figures = (
            Figure(key="not_home", label="Not home", share=Share(k=k, n=20, low=0.119, high=0.543)),
            Figure(key="hysteresis_mm", label="Hysteresis", unit="mm", value=3.14159, interval95=(2.51, 3.77)),
            Figure(key="return_s", label="Return time", unit="s", of="left", why="the lever did not move"),
        )
        plain = {
            "kind": "release", "start_s": 12.0, "end_s": 92.0, "configuration": "complete", "figures": figures,
            "says": (f"It did not come home in {k} of 20.", "A second sentence."), "doubts": ("relative millimetres",),
            "points_to": (("outside", "wide hysteresis"),),
        }  # fmt: skip
        return GuidedResult(**(plain | different))

    return make


class Shelf:
    """A library of results alone."""

    def __init__(self, results: dict[str, object], *, cars: dict[str, str] | None = None) -> None:
        self._results, self._cars = results, cars or {}
        self.work = SimpleNamespace(said=dict, failed=lambda _: None)

    def drives(self):
        return tuple(
            DriveEntry(id=i, name=i, car=self._cars.get(i, "Test coupe"), stage="before", driver=None, started=None,
                       notes=None, added="", folder=None, measured=True)
            for i in self._results
        )  # fmt: skip

    def entry(self, drive_id):
        return next(entry for entry in self.drives() if entry.id == drive_id)

    def result(self, drive_id):
        return self._results[drive_id]


def page_of(shelf: Shelf, drive_id: str) -> str:
    place = Place(page="tests", car="Test coupe", visit="before", drive=drive_id)
    return text_of(tests.layout(place, Query(), shelf))


def test_a_result_stands_with_its_answer_figures_doubts_and_cautions(make_result, make_guided):
    said = page_of(Shelf({"one": replace(make_result(), guided=(make_guided(),))}), "one")
    for part in ("It did not come home in 6 of 20.", "A second sentence.", "6 of 20", "12 to 54\N{NO-BREAK SPACE}%",
                 "3.1\N{NO-BREAK SPACE}mm", "2.5 to 3.8", "the lever did not move", "relative millimetres",
                 "This points at parts outside the gearbox (wide hysteresis).", "chock the wheels", "/guide/release",
                 "no earlier test of this car is set up alike", "Common practice, without a source"):  # fmt: skip
        assert part in said
    assert said.index("It did not come home") < said.index("Not home") < said.index("relative millimetres")


def test_earlier_results_are_of_the_same_car_kind_and_set_up_and_older(make_result, make_guided):
    results = {
        "oldest": make_guided(k=1), "other-car": make_guided(k=2), "off": make_guided(configuration="cables off"),
        "lockout": make_guided(kind="lockout"), "second": make_guided(k=4, configuration="as found"),
        "here": make_guided(),
        "later": make_guided(),
    }  # fmt: skip
    kept = {name: replace(make_result(), guided=(one,)) for name, one in results.items()}
    shelf = Shelf(kept, cars={"other-car": "Another"})
    found = tests.earlier_results(shelf, "here", results["here"])
    assert [one.name for one in found] == ["oldest, before", "second, before"]
    said = page_of(shelf, "here")
    assert said.index("oldest, before") < said.index("second, before") and '"1 of 20"' in said and '"4 of 20"' in said


def test_only_the_newest_of_many_stand_beside(make_result, make_guided):
    kept = {f"d{i}": replace(make_result(), guided=(make_guided(k=i),)) for i in range(8)}
    found = tests.earlier_results(Shelf(kept), "d7", make_guided())
    assert [one.name[:2] for one in found] == ["d4", "d5", "d6"]


def test_a_drive_without_tests_says_what_to_do(make_result):
    said = page_of(Shelf({"one": make_result()}), "one")
    assert "No test is marked in this drive" in said and "Mark a test" in said and "/guide" in said


def test_marks_without_figures_are_not_passed_over_in_silence(make_result, make_guided):
    marked = (
        MarkedTest(kind="release", start_s=12.0, end_s=92.0), MarkedTest(kind="clearance", start_s=100.0, end_s=160.0),
        MarkedTest(kind="juggling", start_s=200.0, end_s=260.0),
    )  # fmt: skip
    said = page_of(Shelf({"one": replace(make_result(), tests=marked, guided=(make_guided(),))}), "one")
    assert "on the page of the cables" in said and "juggling (not known, counts for nothing)" in said
    assert said.count("Let-goes, 0:12.0") == 0


def test_a_figure_is_told_with_what_is_known_of_its_error():
    plain = {"key": "x", "label": "x"}
    assert shown(None) == shown(Figure(**plain, why="not logged")) == "–"
    sure = Figure(**plain, unit="mm", value=1.234, uncertainty=0.056)
    assert interval(sure) == "± 0.056\N{NO-BREAK SPACE}mm (k = 1)" and shown(sure) == "1.2\N{NO-BREAK SPACE}mm"
    assert interval(Figure(**plain, value=1.0)) == "–"


def test_a_drive_that_is_not_measured_leads_to_its_own_page():
    said = page_of(Shelf({"one": None}), "one")
    assert "This drive is not measured yet" in said and '"/car/Test%20coupe/before/one"' in said
