"""Adjust, replace outside, or open: each rule on cases made for it."""

from dataclasses import replace

import pytest

from shiftlog.cables.setting import advise
from shiftlog.findings.case import Case
from shiftlog.findings.signs import find_signs
from shiftlog.findings.signs_across import RULES as OF_ACROSS
from shiftlog.findings.signs_cables import RULES as OF_CABLES
from shiftlog.findings.signs_gears import RULES as OF_GEARS
from shiftlog.findings.signs_rests import RULES as OF_RESTS
from shiftlog.findings.signs_seats import RULES as OF_SEATS
from shiftlog.findings.signs_tests import TESTS
from shiftlog.model.cables import Clearance
from shiftlog.model.car import Car
from shiftlog.model.guided import Figure, GuidedResult
from shiftlog.model.reading import measured, unmeasured
from shiftlog.model.rest import Rest
from shiftlog.model.result import Finding
from shiftlog.model.seats import SeatFigures, SeatReport, Travel
from shiftlog.model.sign import OUTSIDE
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
    return {sign.rule: sign.state for sign in find_signs(Case(result=result, cables=cables))}


def with_rests(result, rests, hysteresis: float):
    return replace(result, rests=tuple(rests), summary=replace(result.summary, hysteresis_mm=hysteresis))


EVEN, WIDE, WANDERS, ROWS, MISSING, INSIDE, SHORT = (rule.says for rule in (*OF_RESTS, *OF_CABLES, *OF_GEARS))


def test_a_healthy_drive_has_nothing_inside(healthy) -> None:
    said = states(healthy)
    assert not [rule for rule, state in said.items() if state == "for"]
    assert said[INSIDE] == "against" and said[ROWS] == said[MISSING] == "not known"


def cleared(forward: float, rearward: float, sides=(None, None), reach=(-4, 4)):
    gears = [
        Clearance(gear=g, way=w, clearance_mm=mm, sd_mm=0.05, u_mm=0.05, presses=3, wanted_mm=1.0, left_mm=sides[0],
                  right_mm=sides[1])
        for g, w, mm in (("1", 1, forward), ("2", -1, rearward))
    ]  # fmt: skip
    return advise(gears, Car(name="x", gate=None, cables={"end": "turn", "engage_range_mm": list(reach)}))


@pytest.mark.parametrize(("forward", "rearward", "sides", "row", "side"), [
    (0.2, 4.0, (0.4, 2.3), "for", "for"), (2.5, 2.5, (0.1, 2.3), "against", "for"),
    (2.5, 2.5, (1.0, 2.3), "against", "against"), (0.2, 4.0, (None, None), "for", "not known"),
    (0.2, 4.0, (None, 2.3), "for", "not known"), (2.5, 2.5, (0.1, 0.2), "against", "against"),
])  # fmt: skip
def test_each_cable_is_spoken_for_by_its_own_stops(healthy, forward, rearward, sides, row, side) -> None:
    said = states(healthy, cleared(forward, rearward, sides))
    assert (said[ROWS], said[OF_ACROSS[0].says]) == (row, side)


def test_an_adjuster_at_its_end_speaks_for_adjusting(healthy) -> None:
    said = states(healthy, cleared(0.2, 4.0, reach=(-0.3, 4)))
    assert (said[ROWS], said[MISSING]) == ("for", "against")


def test_a_test_that_gives_no_setting_is_not_called_missing(healthy) -> None:
    signs = find_signs(Case(result=healthy, cables_why="only gears that lie forward were pressed"))
    evidence = {sign.rule: sign.evidence for sign in signs}
    assert "only gears that lie forward" in evidence[ROWS] and "no clearance test" not in evidence[ROWS]


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
    (sign,) = (s for s in find_signs(Case(result=replace(healthy, findings=(finding(rule),)))) if s.rule == INSIDE)
    assert sign.state == state and said in sign.evidence


def test_what_speaks_for_something_comes_first_and_says_what_to_do_next(healthy) -> None:
    even = with_rests(healthy, [rest(6.0, "right")] * 5 + [rest(6.4, "left")] * 5, -0.4)
    signs = find_signs(Case(result=even))
    assert signs[0].state == "for" and all(s.next_test and s.also_looks_like and s.evidence for s in signs)


def guided(kind: str, *, points=(), figures=True, says=("All quiet.",), configuration=None) -> GuidedResult:
    one = (Figure(key="x_mm", label="x", value=1.0),) if figures else ()
    return GuidedResult(
        kind=kind, start_s=0.0, end_s=1.0, configuration=configuration, figures=one, says=says, points_to=points
    )


def test_every_test_has_a_row_done_or_not(healthy) -> None:
    kinds = {asked.says: kind for kind, asked in TESTS.items()}
    done = [guided("release", configuration="cables off", points=((OUTSIDE, "friction"),)), guided("lockout"),
            guided("detent", figures=False, says=("Not measured: no lever",))]  # fmt: skip
    rows = {kinds[s.rule]: s for s in find_signs(Case(result=healthy, guided=tuple(done))) if s.rule in kinds}
    assert rows.keys() == TESTS.keys()
    assert (rows["release"].state, rows["release"].points_to) == ("for", OUTSIDE)
    assert rows["release"].evidence == "friction (cables off)"
    assert (rows["lockout"].state, rows["detent"].state, rows["spin_down"].state) == (
        "against",
        "not known",
        "not known",
    )
    assert all(s.also_looks_like and s.next_test for s in rows.values())


def seats(moves, *, short=None) -> SeatReport:
    none = unmeasured("x", "no ruler")
    made = [
        SeatFigures(
            gear=gear, plane="1-2", way=1, stays=5, drives=1, in_gear_s=60.0, select_mm=none, engage_mm=none,
            hand_only=False, spread=None, off_select_mm=none, off_engage_mm=none, torque_select_mm=none,
            torque_engage_mm=measured("x", mm, uncertainty=0.2), torque_by="throttle", torque_span_mps2=None,
            at_drive=None, at_overrun=None, depth_mm=none, hand_share=none,
        )
        for gear, mm in moves.items()
    ]  # fmt: skip
    lack = none if short is None else measured("x", short, uncertainty=0.3)
    travel = none if short is None else measured("x", 30.0 - short)
    whole = Travel(plane=None, wanted_mm=30.0, travel_mm=travel, short_mm=lack)
    return SeatReport(seats=tuple(made), travel=(whole,), scale="relative", answer=())


@pytest.mark.parametrize(("moves", "state"), [
    ({"2": 2.0, "3": 1.9, "4": 2.2}, "for"), ({"2": 2.0, "3": 0.2, "4": 0.1}, "against"),
    ({"2": 2.0, "3": -2.0, "4": 2.0}, "against"), ({"2": 2.0}, "not known"),
])  # fmt: skip
def test_a_lever_that_torque_moves_alike_in_all_gears_is_for_outside(healthy, moves, state) -> None:
    signs = find_signs(Case(result=healthy, seats=seats(moves)))
    assert next(s for s in signs if s.rule == OF_SEATS[0].says).state == state


@pytest.mark.parametrize(("short", "state"), [(4.0, "for"), (1.2, "against"), (None, "not known")])
def test_travel_short_everywhere_takes_a_ruler(healthy, short, state) -> None:
    signs = find_signs(Case(result=healthy, seats=seats({}, short=short)))
    assert next(s for s in signs if s.rule == OF_SEATS[1].says).state == state


def test_few_rests_that_scatter_are_not_called_even(healthy) -> None:
    """Alike in their middles alone: the interval of the hysteresis reaches far beyond what is small."""
    scattered = [rest(x, "right") for x in (-15.0, 2.0, 18.0)] + [rest(x, "left") for x in (-14.0, 2.4, 20.0)]
    assert states(with_rests(healthy, scattered, -0.4))[EVEN] == "not known"


def test_a_test_done_three_times_is_one_row_and_not_three(healthy) -> None:
    thrice = tuple(guided("release", points=((OUTSIDE, "friction"),)) for _ in range(3))
    [row] = [s for s in find_signs(Case(result=healthy, guided=thrice)) if s.rule == TESTS["release"].says]
    assert row.evidence == "friction (3 tests)"
