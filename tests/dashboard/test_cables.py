"""The page of the cables: the picture moves with the setting, and the words say the tightest gear."""

from dashboard.figures.clearances import draw_clearances
from dashboard.theme import LIGHT
from dashboard.views.cables import say_setting
from shiftlog.cables.setting import advise
from shiftlog.model.cables import Clearance
from shiftlog.model.car import Car


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
