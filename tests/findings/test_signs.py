"""Adjust, replace outside, or open: each rule on cases made for it."""

from dataclasses import replace

import pytest

from shiftlog.cables.setting import advise
from shiftlog.findings.signs import RULES, find_signs
from shiftlog.model.cables import Clearance
from shiftlog.model.car import Car
from shiftlog.model.reading import measured
from shiftlog.model.rest import Rest
from shiftlog.model.result import Finding
from shiftlog.pipeline import measure_drive
from shiftlog.synth.scenario import make_drive


@pytest.fixture(scope="module")
def healthy():
    return measure_drive(make_drive(car="hatch5", seed=21, health="healthy", minutes=3.0).as_drive())


def rest(select_mm: float, side: str) -> Rest:
    return Rest(
        start_s=1.0, end_s=2.0, select_mm=select_mm, engage_mm=0.0, plane="3-4", released=True, came_from=side,
        readings={"offset_mm": measured("offset_mm", select_mm)},
    )  # fmt: skip


def states(result, cables=None) -> dict[str, str]:
    return {sign.rule: sign.state for sign in find_signs(result, cables)}


def with_rests(result, rests, hysteresis: float):
    return replace(result, rests=tuple(rests), summary=replace(result.summary, hysteresis_mm=hysteresis))


EVEN, ROWS, MISSING, WIDE, WANDERS, INSIDE, SHORT = (rule[1] for rule in RULES)


def test_a_healthy_drive_has_nothing_inside(healthy) -> None:
    said = states(healthy)
    assert len(said) == len(RULES) and said[INSIDE] == "against" and said[ROWS] == said[MISSING] == "not known"


def test_an_even_offset_is_for_adjusting_and_a_wide_hysteresis_for_outside(healthy) -> None:
    even = with_rests(healthy, [rest(6.0, "right")] * 5 + [rest(6.4, "left")] * 5, -0.4)
    assert states(even)[EVEN] == "for" and states(even)[WIDE] == "against"
    sticky = with_rests(healthy, [rest(5.0, "right")] * 5 + [rest(-4.0, "left")] * 5, 9.0)
    assert states(sticky)[EVEN] == "against" and states(sticky)[WIDE] == "for"


def test_rests_that_wander_are_for_outside(healthy) -> None:
    rests = [rest(x, "right") for x in (-4.0, 0.0, 3.0, 5.0, -2.0, 1.0)]
    assert states(with_rests(healthy, rests, 0.0))[WANDERS] == "for"
    assert states(with_rests(healthy, rests[:2], 0.0))[WANDERS] == "not known"


@pytest.mark.parametrize(("forward", "rearward", "row", "travel"), [(0.2, 4.0, "for", "against"),
                                                                    (0.2, 0.3, "against", "for")])  # fmt: skip
def test_clearances_tell_adjusting_from_missing_travel(healthy, forward, rearward, row, travel) -> None:
    gears = [("1", 1, forward), ("2", -1, rearward)]
    advice = advise(
        [
            Clearance(gear=g, way=w, clearance_mm=mm, sd_mm=0.05, u_mm=0.05, presses=3, wanted_mm=1.0)
            for g, w, mm in gears
        ],
        Car(name="x", gate=None),
    )
    said = states(healthy, advice)
    assert (said[ROWS], said[MISSING]) == (row, travel)


def test_a_gear_that_jumps_out_at_full_depth_is_for_inside(healthy) -> None:
    jumped = replace(healthy.shifts[3], outcome="jumped_out", from_gear="3", to_gear="N")
    assert states(replace(healthy, shifts=(*healthy.shifts, jumped)))[INSIDE] == "for"


def finding(rule: str) -> Finding:
    return Finding(
        what="The lever stands longer before 3.", evidence=("a test",), look_at=("x",), also_looks_like=("y",),
        next_test="z", rule=rule,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("rule", "state", "said"),
    [
        ("grind gear", "for", "within 1 mm of full"),
        ("baulk pair", "for", "within 1 mm of full"),
        ("grind all", "against", "not one gear alone"),
        ("second push direction", "against", "not one gear alone"),
        ("knock difference", "against", "no one gear stands out"),
        ("", "not known", "measure the drive again"),
    ],
)
def test_the_rule_of_a_finding_tells_whether_it_is_of_one_gear(healthy, rule, state, said) -> None:
    """By its rule, not by the words it is told in."""
    (sign,) = (s for s in find_signs(replace(healthy, findings=(finding(rule),))) if s.rule == INSIDE)
    assert sign.state == state and said in sign.evidence


def test_what_speaks_for_something_comes_first_and_says_what_to_do_next(healthy) -> None:
    even = with_rests(healthy, [rest(6.0, "right")] * 5 + [rest(6.4, "left")] * 5, -0.4)
    signs = find_signs(even)
    assert signs[0].state == "for" and all(s.next_test and s.also_looks_like and s.evidence for s in signs)
