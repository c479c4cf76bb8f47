"""The road-test card: what it asks for, that it never asks for harm, and what is still missing."""

from dataclasses import replace

import pytest

from shiftlog.errors import StoreError
from shiftlog.model.car import Car
from shiftlog.model.drive import MarkedTest
from shiftlog.model.job import SYMPTOMS, Job
from shiftlog.model.reading import measured
from shiftlog.report.card import DRIVES, LANDS_BELOW, NAMED, OTHERS, plan_card, side_of
from shiftlog.report.card_page import make_card
from shiftlog.report.forbidden import claims_in
from shiftlog.report.language import MPH, languages
from shiftlog.synth.cars import CARS

from .conftest import LAYOUT, a_rest, a_shift
from .test_page import tree_of
from .test_words import said_by


@pytest.fixture
def car():
    ratios = {"1": 3.4, "2": 1.9, "3": 1.3, "4": 1.0, "5": 0.8, "R": 3.2}
    return Car(
        name="Test coupe", gate=LAYOUT, redline_rpm=7000.0, ratios=ratios, final_drive=dict.fromkeys(ratios, 4.1),
        rolling_radius_m=0.3,
    )  # fmt: skip


def line_of(plan, kind, part="hot"):
    return next(line for line in plan.shifts if (line.kind, line.part) == (kind, part))


def test_the_complaint_decides_which_shifts_come_most_often(car):
    plan = plan_card(Job(car="x", shifts=("2-3", "4")), car, [], side="before")
    wanted = {line.kind: line.wanted for line in plan.part("hot")}
    assert {k for k, n in wanted.items() if n == NAMED} == {"2-3", "3-4", "5-4"}
    assert {k for k, n in wanted.items() if n == OTHERS} == {"1-2", "4-5", "4-3", "3-2"}
    assert all(line.missing == line.wanted * DRIVES for line in plan.shifts)


@pytest.mark.parametrize(
    ("temperature", "cold", "hot"),
    [("cold", 7, 1), ("hot", 0, 7), ("both", 1, 7), ("", 1, 7)],
)
def test_cold_and_hot_as_the_complaint_has_it(car, temperature, cold, hot):
    plan = plan_card(Job(car="x", shifts=("2-3",), temperature=temperature), car, [], side="before")
    assert (len(plan.part("cold")), len(plan.part("hot"))) == (cold, hot)


@pytest.mark.parametrize("name", sorted(CARS))
def test_no_shift_of_any_car_lands_beyond_the_redline(name):
    car = CARS[name].car
    plan = plan_card(Job(car=name), car, [], side="before")
    assert plan.shifts
    for line in plan.shifts:
        old, new = (car.rpm_per_mps(gear) for gear in line.kind.split("-"))
        assert line.rpm[1] * new / old <= LANDS_BELOW * car.redline_rpm
        assert line.rpm[0] < line.rpm[1] < car.redline_rpm


def test_even_what_was_driven_before_is_not_repeated_where_it_would_do_harm(car, make_result):
    wild = [replace(s, readings={**s.readings, "engine_speed_rpm": measured("engine_speed_rpm", 6500.0)})
            for s in (a_shift(n, gears=("3", "2")) for n in range(1, 7))]  # fmt: skip
    line = line_of(plan_card(Job(car="x"), car, [make_result(shifts=wild)], side="before"), "3-2")
    assert line.rpm[1] * car.ratios["2"] / car.ratios["3"] <= LANDS_BELOW * car.redline_rpm


def test_after_the_work_it_is_driven_as_before(car, make_result):
    before = make_result(shifts=[a_shift(n) for n in range(1, 9)])  # 3,020 to 3,160 rpm
    line = line_of(plan_card(Job(car="x"), car, [], side="after", earlier=[before]), "2-3")
    assert line.rpm == (3000, 3400) and line.as_before
    assert line.speed_mps[0] == pytest.approx(3000 / car.rpm_per_mps("2"))


def test_without_redline_or_ratios_no_engine_speed_is_made_up(car):
    for less in (replace(car, redline_rpm=None), replace(car, ratios={}, rolling_radius_m=None)):
        plan = plan_card(Job(car="x"), less, [], side="before")
        assert line_of(plan, "3-2").rpm is None and line_of(plan, "3-2").speed_mps is None


def test_what_was_driven_is_counted_and_the_rest_is_missing(car, make_result):
    shifts = [a_shift(n) for n in range(1, 9)]
    useless = [a_shift(20, standing=True), a_shift(21, outcome="out_and_back"), replace(a_shift(22), paused=True)]
    first, second = make_result("one", shifts=shifts + useless), make_result("two", mark="b", shifts=shifts[:2])
    line = line_of(plan_card(Job(car="x", shifts=("2-3",)), car, [first, second], side="before"), "2-3")
    assert line.had == (8, 2)
    assert line.missing == 2 + 8 + 10


def test_cold_shifts_are_told_by_temperature_or_by_the_first_minutes(car, make_result):
    cold = replace(a_shift(1), readings={"gearbox_temp_c": measured("gearbox_temp_c", 12.0)})
    warm = replace(a_shift(2), readings={"gearbox_temp_c": measured("gearbox_temp_c", 80.0)})
    drive = make_result(shifts=[cold, warm])
    plan = plan_card(Job(car="x", shifts=("2-3",)), car, [drive], side="before")
    assert (line_of(plan, "2-3", "cold").had, line_of(plan, "2-3").had) == ((1,), (1,))
    late = replace(a_shift(3), start_s=1500.0)
    plan = plan_card(
        Job(car="x", shifts=("2-3",)), car, [make_result(shifts=[a_shift(1), late], cold=True)], side="before"
    )
    assert (line_of(plan, "2-3", "cold").had, line_of(plan, "2-3").had) == ((1,), (1,))


def test_a_side_that_has_everything_is_complete(car, make_result):
    kinds = [("1", "2"), ("2", "3"), ("3", "4"), ("4", "5"), ("5", "4"), ("4", "3"), ("3", "2")]
    shifts = [a_shift(10 * k + n, gears=g) for k, g in enumerate(kinds) for n in range(OTHERS)]
    rests = [a_rest("3-4")] * 10 + [replace(a_rest("3-4"), came_from=None)] * 10
    drives = [
        replace(
            make_result(f"d{k}", shifts=shifts, rests=rests), tests=(MarkedTest(kind="release", start_s=0, end_s=9),)
        )
        for k in range(DRIVES)
    ]
    plan = plan_card(Job(car="x"), car, drives, side="before")
    assert plan.complete
    assert not plan_card(Job(car="x"), car, drives[:2], side="before").complete


def test_the_card_is_that_of_the_side_the_job_has_come_to():
    assert side_of(Job(car="x", drives_before=("a",))) == "before"
    assert side_of(Job(car="x", fluid="1.9 l")) == "after"


@pytest.mark.parametrize("code", languages())
def test_the_page_is_whole_and_carries_its_cautions(car, code):
    job = Job(car="x", symptoms=SYMPTOMS, shifts=("2-3",), complaint="<b>x</b>")
    page = make_card(plan_card(job, replace(car, name="<i>car</i>"), [], side="after"), language=code, speed=MPH)
    tree_of(page)
    said = said_by(page)
    assert claims_in(said) == []
    assert "&lt;i&gt;car" in page and " mph" in said and "7,000 rpm" in said.replace(".", ",").replace("U/min", "rpm")
    assert page.count('class="cautions"') == 1


@pytest.mark.parametrize("named", ["2-9", "9", "7-6"])
def test_a_gear_that_the_car_has_not_is_refused(car, named):
    with pytest.raises(StoreError, match=r"shifts: .* has no gear [79]; its gears are 1, 2, 3"):
        plan_card(Job(car="x", shifts=("2-3", named)), car, [], side="before")


def test_the_client_s_cold_that_nobody_settled_is_said_with_the_card(car):
    words = "Third gear scrapes when it is cold"
    assert "“cold” sound like cold" in plan_card(Job(car="x", complaint=words), car, [], side="before").cold_hint
    assert plan_card(Job(car="x", complaint=words, temperature="hot"), car, [], side="before").cold_hint == ""
