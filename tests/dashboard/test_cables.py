"""The page of the cables: the picture moves with the setting, and the words say the tightest gear."""

from dataclasses import replace

import pytest

from dashboard.figures.clearances import draw_clearances
from dashboard.routes import OF_A_DRIVE, Place, read_path, write_path
from dashboard.theme import LIGHT
from dashboard.views.cables import say_setting
from dashboard.views.where import answer
from shiftlog.cables.setting import advise
from shiftlog.model.cables import Clearance
from shiftlog.model.car import Car
from shiftlog.model.sign import Sign


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


@pytest.mark.parametrize("page", list(OF_A_DRIVE))
def test_pages_of_a_drive_have_their_own_path(page: str) -> None:
    place = Place(page=page, car="Made car", visit="before", drive="d1")
    assert write_path(place) == f"/car/Made%20car/before/d1/{page}"
    assert read_path(write_path(place)) == place


def test_the_answer_counts_what_speaks_for_each() -> None:
    sign = Sign(points_to="adjust", rule="r", state="for", evidence="e", also_looks_like="a", next_test="n")
    said = answer((sign, replace(sign, points_to="inside", state="not known")))
    assert said == ["Of 2 rows 1 speaks for adjusting.", "1 could not be held against this visit: see what they lack."]
    assert answer((replace(sign, state="against"),)) == ["No rule speaks for any of the three."]
