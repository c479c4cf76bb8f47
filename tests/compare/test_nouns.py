"""What a row counts is named as what it is: a rest is no shift."""

from dataclasses import replace

import numpy as np
import pytest

from shiftlog.commands.compare_text import comparison_lines
from shiftlog.compare.drives import compare_drives
from shiftlog.measure.catalogue import MEASURES
from shiftlog.measure.nouns import IN_100, count_of, many
from shiftlog.model.car import GateLayout, Plane
from shiftlog.model.drive import MarkedTest
from shiftlog.model.gate import GateMap
from shiftlog.model.rest import Rest
from shiftlog.report.language import languages, load_language

LAYOUT = GateLayout(planes=(Plane(forward="1", rear="2"), Plane(forward="3", rear="4")), home="3-4")
GATE = GateMap(
    matrix=np.eye(2), offset=np.zeros(2), orientation="found", evidence="", scale="relative", seats=(),
    layout=LAYOUT, noise_mm=0.1,
)  # fmt: skip


@pytest.fixture
def resting(result):
    def make(name, n, *, marked=False):
        rests = tuple(
            Rest(start_s=k + 0.1, end_s=k + 0.9, select_mm=0.0, engage_mm=0.0, plane="3-4", released=True,
                 came_from="left") for k in range(n)
        )  # fmt: skip
        tests = (MarkedTest(kind="release", start_s=0.0, end_s=100.0),) if marked else ()
        return replace(result(name, []), rests=rests, gate=GATE, tests=tests)

    return make


def told(comparison) -> str:
    return " ".join(" ".join(comparison_lines(comparison)).split())


def test_rests_seen_on_one_side_are_no_shifts(resting):
    said = told(compare_drives([resting("b", 5)], [resting("a", 0)]))
    assert "too few rests" in said and "5 rests before and 0 after" in said
    assert "shift" not in said.replace("shiftlog", "")


def test_too_few_let_goes_are_told_as_let_goes(resting):
    comparison = compare_drives([resting("b", 2, marked=True)], [resting("a", 2, marked=True)])
    (row,) = [r for r in comparison.rows if r.measure == "wrong_plane_share" and r.group == "all"]
    assert (row.counted, row.verdict) == ("let-go", "too_few")
    assert row.why == "2 let-goes before and 2 after; 3 a side are the least"


def test_shifts_stay_shifts(result, shift):
    comparison = compare_drives([result("b", [shift(1), shift(2)])], [result("a", [shift(1)])])
    assert "2 shifts before and 1 after" in told(comparison)


@pytest.mark.parametrize(
    ("noun", "several"), [("push", "3 pushes"), ("try", "3 tries"), ("let-go", "3 let-goes"), ("rest", "3 rests")]
)
def test_several_of_each(noun, several):
    assert (count_of(3, noun), count_of(1, noun)) == (several, f"1 {noun}")


@pytest.mark.parametrize("code", languages())
def test_every_noun_of_the_catalogue_has_its_word_on_the_page(code):
    words = load_language(code)
    nouns = {m.noun for m in MEASURES.values()} | {"let-go"}
    assert all(words.knows(f"things.{noun}") for noun in nouns)
    if code == "en":
        assert all(words.say(f"things.{noun}") == many(noun) for noun in nouns)
        assert words.say("number.of_100", value="3") == f"3 {IN_100}"
