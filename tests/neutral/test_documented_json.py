"""DEVELOPERS.md tells the keys of the JSON of `neutral`, `test` and `cables` that are printed, no more and no less."""

import json
import re
from dataclasses import replace
from pathlib import Path

import pytest

from shiftlog.cables.document import advice_to_document
from shiftlog.cables.follow_document import follow_up_to_document
from shiftlog.cables.follow_up import follow_up, turning_of
from shiftlog.cables.setting import advise
from shiftlog.guided import document as guided_document
from shiftlog.guided.configurations import Compared
from shiftlog.measure.share import share_of
from shiftlog.model.cables import Clearance
from shiftlog.model.car import Car
from shiftlog.model.guided import Figure, GuidedResult
from shiftlog.neutral.document import report_to_document
from shiftlog.neutral.report import report_neutral

TEXT = (Path(__file__).parents[2] / "DEVELOPERS.md").read_text(encoding="utf-8")
BLOCKS = dict(
    re.findall(r"^`shiftlog ([a-z -]+?) (?:KIND )?DRIVE[^`]*`.*?```json\n(.*?)```", TEXT, re.DOTALL | re.MULTILINE)
)
BY_NAME = ("manners", "uncertainty", "interval95", "unmeasured", "clearances")
"""Objects whose keys are figures, gears or words, as the text says."""
CABLES = {"end": "turn", "engage_mm_per_turn": 1.0, "select_mm_per_turn": 1.0, "engage_range_mm": [-0.3, 0.3]}


def keys_of(value: object, at: str = "") -> set[str]:
    """Every key with the way to it."""
    if isinstance(value, list | tuple):
        return set().union(*(keys_of(one, f"{at}[]") for one in value))
    if not isinstance(value, dict) or at.split(".")[-1] in BY_NAME:
        return set()
    return set().union(*({f"{at}.{key}"} | keys_of(one, f"{at}.{key}") for key, one in value.items()))


def guided() -> GuidedResult:
    figures = (Figure(key="not_home", label="not home", share=share_of(1, 20)), Figure(key="a", label="b", why="c"))
    return GuidedResult(
        kind="release", start_s=0.0, end_s=1.0, configuration=None, figures=figures, says=("said",),
        points_to=(("adjust", "said"),),
    )  # fmt: skip


def clearances(short_mm: float) -> list[Clearance]:
    gears = [("1", 1, short_mm), ("2", -1, 3.0 - short_mm)]
    return [
        Clearance(gear=g, way=w, clearance_mm=mm, sd_mm=0.05, u_mm=0.05, presses=3, wanted_mm=1.0, left_mm=1.0,
                  right_mm=1.0)
        for g, w, mm in gears
    ]  # fmt: skip


@pytest.fixture
def printed(make_rest, make_result, car) -> dict[str, dict]:
    rests = [
        make_rest(-24.0, speed=26.7, over_rev_if={"1": 11480.0}, released=True, came_from="right"),
        make_rest(0.0, speed=26.7, released=True, came_from="left"),
    ]
    results = [replace(make_result(*rests), guided=(guided(),))]
    compared = Compared(kind="release", configurations=("complete",), says=())
    turned = Car(name="x", gate=None, cables=CABLES)
    turnings = turning_of("engage", turned, turns=1.0), turning_of("select", turned, turns=0.0)
    return {
        "neutral": report_to_document(report_neutral(results, car)),
        "test": guided_document.tests_to_document("release", [("warm-2", guided())], compared, ("caution",)),
        "cables": advice_to_document(advise(clearances(0.4), turned)),
        "cables --after": follow_up_to_document(follow_up(clearances(0.4), clearances(1.4), turnings, turned)),
    }


@pytest.mark.parametrize("name", ["neutral", "test", "cables", "cables --after"])
def test_the_documented_keys_are_those_printed(printed, name):
    document = json.loads(json.dumps(printed[name]))
    written = json.loads(BLOCKS[name])
    assert keys_of(document) == keys_of(written)
    assert written["format"] == document["format"]
