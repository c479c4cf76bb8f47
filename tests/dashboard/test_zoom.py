"""Drags and buttons to windows."""

import pytest

from dashboard import ids
from dashboard.zoom import LEAST_S, button_window, dragged_window

WHOLE = (0.0, 100.0)


def test_a_drag_gives_its_window_whichever_way_it_went():
    assert dragged_window({"xaxis.range[0]": 4.0, "xaxis.range[1]": 2.0}) == ((2.0, 4.0), True)


@pytest.mark.parametrize("event", [None, {}, {"autosize": True}, {"dragmode": "pan"}])
def test_other_events_move_nothing(event):
    assert dragged_window(event) == (None, False)


def test_a_reset_shows_all():
    assert dragged_window({"xaxis.autorange": True}) == (None, True)


def test_a_hair_s_breadth_is_widened():
    (start_s, end_s), _ = dragged_window({"xaxis.range[0]": 5.0, "xaxis.range[1]": 5.0})
    assert end_s - start_s == pytest.approx(LEAST_S)


def test_closer_and_wider_keep_the_middle_and_undo_each_other():
    closer = button_window(ids.ZOOM_IN, (30.0, 60.0), WHOLE)
    assert closer == pytest.approx((40.0, 50.0))
    assert button_window(ids.ZOOM_OUT, closer, WHOLE) == pytest.approx((30.0, 60.0))


def test_wider_than_the_drive_is_the_drive():
    assert button_window(ids.ZOOM_OUT, (10.0, 95.0), WHOLE) is None
    assert button_window(ids.WHOLE, (10.0, 20.0), WHOLE) is None


@pytest.mark.parametrize(
    ("button", "window", "expected"),
    [
        (ids.LATER, (10.0, 20.0), (17.0, 27.0)),
        (ids.LATER, (92.0, 98.0), (94.0, 100.0)),
        (ids.EARLIER, (10.0, 20.0), (3.0, 13.0)),
        (ids.EARLIER, (2.0, 12.0), (0.0, 10.0)),
    ],
)
def test_earlier_and_later_stay_in_the_drive_and_keep_the_width(button, window, expected):
    assert button_window(button, window, WHOLE) == pytest.approx(expected)
