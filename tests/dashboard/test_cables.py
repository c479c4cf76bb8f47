"""The page of the cables: the picture moves with the setting, and the words say the tightest gear."""

from dataclasses import replace
from types import SimpleNamespace

import pytest

from dashboard.clearances import find_clearances
from dashboard.figures.clearances import draw_clearances
from dashboard.parts.cable_sliders import cable_sliders
from dashboard.parts.clearance_table import clearance_table
from dashboard.routes import OF_A_DRIVE, Place, read_path, write_path
from dashboard.theme import LIGHT
from dashboard.views.cables import answer as answer_cables
from dashboard.views.cables import say_setting
from dashboard.views.where import answer
from shiftlog.cables.setting import advise
from shiftlog.model.cables import Clearance
from shiftlog.model.car import Car
from shiftlog.model.sign import Sign
from shiftlog.pipeline import clear_cables, load_drive
from tests.cables.made_test import MadeTest


def advice():
    gears = [("1", 1, 0.5), ("2", -1, 2.5), ("3", 1, 2.0)]
    return advise(
        [
            Clearance(gear=g, way=w, clearance_mm=mm, sd_mm=0.05, u_mm=0.05, presses=3, wanted_mm=1.0)
            for g, w, mm in gears
        ],
        Car(name="x", gate=None),
    )


def test_the_picture_shows_now_and_the_setting() -> None:
    figure = draw_clearances(advice(), (-1.0, 0.0), LIGHT)
    ends = [tuple(trace.x) for trace in figure.data]
    assert ends == [(0.5, 1.5), (2.5, 1.5), (2.0, 3.0)]
    assert [trace.marker.symbol[1] for trace in figure.data] == ["circle"] * 3
    short = draw_clearances(advice(), (1.0, 0.0), LIGHT)
    assert short.data[0].marker.symbol[1] == "x" and "short" in short.layout.annotations[0].text


def test_the_tightest_gear_is_said() -> None:
    assert "1 is the tightest, with 0.5 mm, 0.5 mm less than wanted" in say_setting(advice(), (0.0, 0.0))
    assert "0.5 mm more than wanted" in say_setting(advice(), (-1.0, 0.0))


def aside(**cables: object):
    """The select cable is off by 0.9 mm, and the room along the gate is plenty."""
    gears = [("1", 1), ("2", -1)]
    return advise(
        [
            Clearance(gear=g, way=w, clearance_mm=3.0, sd_mm=0.05, u_mm=0.05, presses=3, wanted_mm=1.0, left_mm=0.1,
                      right_mm=1.9)
            for g, w in gears
        ],
        Car(name="x", gate=None, cables={"end": "turn", "engage_mm_per_turn": 1.0, "select_mm_per_turn": 1.0} | cables),
    )  # fmt: skip


def test_the_select_cable_moves_the_picture_and_the_words() -> None:
    figure = draw_clearances(aside(), (0.0, 0.9), LIGHT)
    assert list(figure.layout.yaxis.ticktext)[::-1] == ["1", "2", "1 left", "2 left", "1 right", "2 right"]
    ends = [tuple(round(float(x), 3) for x in trace.x) for trace in figure.data]
    assert ends[2:5:2] == [(0.1, 1.0), (1.9, 1.0)] and ends[0] == (3.0, 3.0)
    assert "1 to the left is the tightest, with 0.1 mm" in say_setting(aside(), (0.0, 0.0))
    assert "1 to the right is the tightest, with -1.1 mm" in say_setting(aside(), (0.0, 3.0))


def test_sliders_end_where_the_adjusters_do() -> None:
    engage, select = cable_sliders(aside(engage_range_mm=[-0.5, 4], select_range_mm=[-1, 2]))
    assert (engage.children[1].min, engage.children[1].max) == (-0.5, 4)
    assert (select.children[1].min, select.children[1].max) == (-1, 2) and not select.children[1].disabled
    assert list(select.children[1].marks) == [-1, 0, 1, 2]
    turned = cable_sliders(aside(engage_range_mm=[-4, 4], engage_mm_per_turn=2.0))
    assert (turned[0].children[1].min, turned[0].children[1].max) == (-2, 2)


def test_a_cable_that_nothing_shows_cannot_be_turned() -> None:
    _, select = cable_sliders(advice())
    assert select.children[1].disabled and "not measured" in select.children[0].children


def test_clearances_that_bound_no_setting_are_still_shown(tmp_path) -> None:
    """Where advising is refused, what each gear has is read from the test all the same."""
    test = MadeTest(seed=3, clearances={"1": 1.0, "2": 2.0, "3": 1.5, "4": 1.2, "5": 2.2, "R": 1.7})
    drive = load_drive(test.write(tmp_path / "way"))

    class Refusing:
        def result(self, drive_id: str):
            return SimpleNamespace(tests=drive.tests)

        def cables(self, drive_id: str) -> str:
            return "only gears that lie forward were pressed"

        def clearances(self, drive_id: str):
            return clear_cables([drive])

    found = find_clearances("way", Refusing())
    assert {c.gear: c.clearance_mm for c in found} == pytest.approx(test.clearances, abs=0.3)


def test_the_headline_is_no_plain_yes_where_it_rests_on_a_bound() -> None:
    assert answer_cables(advice()) == "Yes: adjust"
    leans = [("1", 1, 0.0, 0), ("2", -1, 4.0, 3)]
    clearances = [
        Clearance(gear=g, way=w, clearance_mm=mm, sd_mm=0.05, u_mm=0.05, presses=n, wanted_mm=1.0)
        for g, w, mm, n in leans
    ]
    assert answer_cables(advise(clearances, Car(name="x", gate=None))).startswith("Perhaps")
    assert "at most" in draw_clearances(advise(clearances, Car(name="x", gate=None)), (-2.0, 0.0), LIGHT).layout[
        "annotations"
    ][0].text  # fmt: skip
    ended = advise(clearances, Car(name="x", gate=None, cables={"end": "turn", "engage_range_mm": [-0.3, 4]}))
    assert answer_cables(ended) == "Not as far as the adjuster goes"


def test_what_is_only_bounded_is_no_figure_in_the_table() -> None:
    known = {"way": 1, "sd_mm": 0.05, "u_mm": 0.1, "presses": 3, "wanted_mm": 1.0}
    sure = Clearance(gear="1", clearance_mm=1.4, left_mm=0.0, left_bound_mm=0.5, left_u_mm=0.5, **known)
    leans = replace(sure, gear="3", clearance_mm=0.0, bound_mm=0.7, left_mm=None, left_bound_mm=None, right_mm=0.8)
    shown = str(clearance_table([sure, leans]))
    assert "1.4 (± 0.2)" in shown and "less than 0.5" in shown and "less than 0.7" in shown and "0.8 (± 0.2)" in shown
    assert "is no measurement" in shown
    assert "is no measurement" not in str(clearance_table([replace(sure, left_mm=None, left_bound_mm=None)]))


@pytest.mark.parametrize("page", list(OF_A_DRIVE))
def test_pages_of_a_drive_have_their_own_path(page: str) -> None:
    place = Place(page=page, car="Made car", visit="before", drive="d1")
    assert write_path(place) == f"/car/Made%20car/before/d1/{page}"
    assert read_path(write_path(place)) == place


def test_the_answer_counts_what_speaks_for_each() -> None:
    sign = Sign(points_to="adjust", rule="r", state="for", evidence="e", also_looks_like="a", next_test="n")
    said = answer((sign, replace(sign, points_to="inside", state="not known")))
    waits = "1 more could not be held against this visit: see what they lack."
    assert said == ["Of 1 rules 1 speaks for adjusting.", waits]
    assert answer((replace(sign, state="against"),)) == ["None of 1 rules speaks for any of the three."]
    assert answer((replace(sign, state="not known"),)) == ["No rule could be held yet.", waits]
