"""A later test of the same car is found, and the panel says what came of the change in between."""

import json
from types import SimpleNamespace

import pytest

from dashboard.follow_ups import follow, next_test
from dashboard.parts.follow_up import follow_up_section, followed_parts
from dashboard.routes import Query
from shiftlog.cables.setting import advise
from shiftlog.model.cables import Clearance
from shiftlog.model.car import Car

CAR = Car(name="x", gate=None, cables={"end": "turn", "engage_mm_per_turn": 1.25, "select_mm_per_turn": 1.25})


def advice(engage_mm: float = 0.0):
    ways = {"1": (1, 3.2), "2": (-1, 0.6), "3": (1, 3.0), "4": (-1, 1.0)}
    return advise(
        [
            Clearance(gear=g, way=w, clearance_mm=mm - w * engage_mm, sd_mm=0.05, u_mm=0.04, presses=3, wanted_mm=1.0)
            for g, (w, mm) in ways.items()
        ],
        CAR,
    )


class Shelf:
    """A library of drives by name: (car, started, what its clearance test says)."""

    def __init__(self, **drives) -> None:
        self.kept = drives

    def drives(self):
        return tuple(
            SimpleNamespace(id=name, name=name, car=car, stage=None, started=started)
            for name, (car, started, _) in self.kept.items()
        )

    def entry(self, drive_id: str):
        return next((entry for entry in self.drives() if entry.id == drive_id), None)

    def result(self, drive_id: str):
        kinds = ["clearance"] if self.kept[drive_id][2] is not None else []
        return SimpleNamespace(tests=[SimpleNamespace(kind=kind) for kind in kinds])

    def cables(self, drive_id: str):
        return self.kept[drive_id][2]

    def drive_car(self, drive_id: str) -> Car:
        return CAR


def test_the_next_test_of_the_same_car_counts() -> None:
    shelf = Shelf(a=("x", None, advice()), b=("y", None, advice()), c=("x", None, None), d=("x", None, advice(1.25)))
    assert next_test("a", shelf).id == "d" and next_test("d", shelf) is None


def test_dates_go_before_the_order_of_adding() -> None:
    shelf = Shelf(a=("x", "2026-05-02", advice()), b=("x", "2026-05-01", advice()), c=("x", "2026-05-03", advice()))
    assert next_test("b", shelf).id == "a" and next_test("a", shelf).id == "c" and next_test("c", shelf) is None


def test_what_was_turned_is_held_against_what_was_measured() -> None:
    shelf = Shelf(a=("x", None, advice()), d=("x", None, advice(1.25)))
    found = follow("a", "d", (1.0, 0.0), shelf)
    assert found.verdict == "as_foretold"
    other = follow("a", "d", (2.0, None), shelf)
    assert other.verdict == "other_pitch" and other.cable("engage").mm_per_turn.value == pytest.approx(0.625, abs=0.01)
    assert "neither cable was changed" in follow("a", "d", (0.0, None), shelf)


def test_the_panel_begins_as_advised_and_ends_before_the_road() -> None:
    shelf = Shelf(a=("x", None, advice()), d=("x", None, advice(1.25)))
    panel = follow_up_section(advice(), shelf.entry("d"), CAR, Query())
    text = json.dumps(panel.to_plotly_json(), default=lambda o: o.to_plotly_json())
    assert f'"value": {round(advice().setting.engage_turns, 2)}' in text and "engage cable, turns" in text
    parts = followed_parts(follow("a", "d", (2.0, 0.0), shelf))
    said = json.dumps(parts, default=lambda o: o.to_plotly_json())
    assert "less than foretold" in said and "more than foretold" in said and "lock-out" in said
    assert "Neither cable was changed" in json.dumps(
        followed_parts(follow("a", "d", (0.0, 0.0), shelf)), default=lambda o: o.to_plotly_json()
    )
