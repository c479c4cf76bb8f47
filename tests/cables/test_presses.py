"""Presses home found by what the hand did: pushed, pulled, let creep back, pushed harder; seen by cheap sensors."""

import numpy as np
import pytest

from shiftlog.cables.presses import find_presses
from shiftlog.cables.sides import Stay, measure_sides

NOISE_MM = 0.1


def hand(*held: tuple[float, float], rate_hz: float = 100.0, noise: float = NOISE_MM, seed: int = 4):
    """(time, place) of a lever held at (mm, s) one after the other; minimum-jerk moves of 0.15 s between."""
    share = np.linspace(0, 1, max(int(0.15 * rate_hz), 3))
    course = 10 * share**3 - 15 * share**4 + 6 * share**5
    parts = [np.full(int(held[0][1] * rate_hz), held[0][0])]
    for (a, _), (b, lasts) in zip(held[:-1], held[1:], strict=True):
        parts += [a + (b - a) * course, np.full(int(lasts * rate_hz), b)]
    place = np.concatenate(parts)
    place = place + np.random.default_rng(seed).normal(0, noise, place.size)
    return np.arange(place.size) / rate_hz, place, rate_hz


def rises(made, **options) -> list[float]:
    return [press.rise_mm for press in find_presses(*made, **options).presses]


@pytest.mark.parametrize("seed", range(4))
def test_a_pull_between_presses_is_no_press_and_moves_none(seed: int) -> None:
    once = [(0.9, 1.0), (0.0, 1.0), (-1.2, 1.0), (0.0, 1.0)]
    found = rises(hand((0.0, 1.0), *once, *once, *once, seed=seed))
    assert found == pytest.approx([0.9] * 3, abs=0.1)


def test_a_lever_that_leans_and_is_pulled_alone_has_no_room() -> None:
    """Of two levels alone the outer one is a press, unless this hand pulls too and the lever lay there at last."""
    leaning = hand((0.0, 1.0), *([(-1.2, 1.0), (0.0, 1.0)] * 3))
    pulled = find_presses(*leaning, pulls=True)
    assert not pulled.presses and pulled.let_go_mm == pytest.approx(0.0, abs=0.05)
    assert rises(leaning)
    usual = hand((0.0, 1.0), *([(1.2, 1.0), (0.0, 1.0)] * 3))
    assert rises(usual, pulls=True) == pytest.approx([1.2] * 3, abs=0.1)


@pytest.mark.parametrize("seed", range(4))
def test_where_the_lever_lies_is_where_it_crept_to(seed: int) -> None:
    back = [(0.3 * np.exp(-k / 4), 0.1) for k in range(20)]
    found = rises(hand((0.0, 1.0), *([(1.2, 1.0), *back] * 3), noise=0.04, seed=seed))
    # Creep of 0.3 mm with a time constant of a second leaves 0.03 mm where it is read.
    assert found == pytest.approx([1.2] * 3, abs=0.1)


def test_light_presses_on_a_soft_stop_count_like_firm_ones() -> None:
    levels = [1.2 + 0.02 * newton for newton in (15, 60, 100, 15)]
    found = rises(hand((0.0, 1.0), *[held for mm in levels for held in ((mm, 1.0), (0.0, 1.0))]))
    assert found == pytest.approx(levels, abs=0.1)


@pytest.mark.parametrize("seed", range(6))
def test_a_slow_coarse_sensor_sees_two_thirds_of_a_millimetre(seed: int) -> None:
    time, place, rate = hand((0.0, 1.0), *([(0.65, 1.0), (0.0, 1.0)] * 3), rate_hz=50.0, noise=0.17, seed=seed)
    counts = np.round(3.5 * place) / 3.5
    assert rises((time, counts, rate)) == pytest.approx([0.65] * 3, abs=0.2)


@pytest.mark.parametrize("true", [1.0, 1.1, 1.2, 1.3, 1.4])
def test_steps_of_a_sensor_without_noise_are_in_what_is_uncertain(true: float) -> None:
    """A third of a millimetre a count, a hand that trembles by a hundredth: every press shows the same wrong step."""
    time, place, rate = hand((0.05, 1.0), *([(true + 0.05, 1.0), (0.05, 1.0)] * 3), noise=0.01)
    found = find_presses(time, np.round(3 * place) / 3, rate, rounding_mm=1 / 3 / np.sqrt(12)).presses
    assert len(found) == 3
    assert all(abs(press.rise_mm - true) < 2.5 * press.u_mm for press in found)
    # Each of the two levels is a third of a millimetre over √12, and that is more than their noise.
    assert found[0].u_mm == pytest.approx(np.sqrt(2) / 3 / np.sqrt(12), rel=0.25)


def test_what_is_not_seen_is_less_than_what_would_have_been() -> None:
    time, place, rate = hand((0.0, 1.0), *([(0.02, 1.0), (0.0, 1.0)] * 3), rate_hz=50.0, noise=0.3)
    found = find_presses(time, place, rate)
    # Two levels of 50 readings each of noise 0.3 leave 0.06 mm between them.
    assert not found.presses and 4 * 0.06 < found.least_mm < 8 * 0.06


def test_pressed_to_one_side_alone_the_other_has_no_room_left() -> None:
    """The lever leans on the left of its slot: pushes to the left move nothing."""
    across = ((0.0, 6.0), *([(0.0, 1.0), (0.0, 1.0), (2.6, 1.0), (0.0, 1.0)] * 3))
    sides = measure_sides({"3": [stay(across)]}, repeats_mm=0.15)["3"]
    assert sides[0].mm == 0.0 and sides[0].bound_mm == sides[0].u_mm and 0.1 < sides[0].bound_mm < 0.2
    assert sides[1].mm == pytest.approx(2.6, abs=0.05) and sides[1].bound_mm is None


def test_a_gear_that_lay_as_long_as_others_were_pressed_was_pressed_too() -> None:
    moved = ((0.0, 4.0), *([(-0.9, 1.0), (0.0, 1.0), (1.1, 1.0), (0.0, 1.0)] * 2))
    stays = {"1": [stay(moved)], "2": [stay(((0.0, 14.0),))], "3": [stay(((0.0, 1.5),))]}
    sides = measure_sides(stays, repeats_mm=0.15)
    assert [side.mm for side in sides["1"]] == pytest.approx([0.9, 1.1], abs=0.1)
    assert [side.mm for side in sides["2"]] == [0.0, 0.0]
    assert [side.mm for side in sides["3"]] == [None, None]


def test_nobody_pressed_aside_where_nothing_moved_in_any_gear() -> None:
    sides = measure_sides({g: [stay(((0.0, 9.0),))] for g in "12"}, repeats_mm=0.15)
    assert all(side.mm is None for pair in sides.values() for side in pair)


def test_once_aside_in_one_gear_may_be_a_hand_on_its_way_and_once_in_each_is_a_test() -> None:
    once = ((0.0, 3.0), (-0.9, 1.0), (0.0, 1.0), (1.1, 1.0), (0.0, 1.0))
    alone = measure_sides({"1": [stay(once)], "2": [stay(((0.0, 3.0),))]}, repeats_mm=0.15)
    assert all(side.mm is None for pair in alone.values() for side in pair)
    each = measure_sides({"1": [stay(once)], "2": [stay(once)]}, repeats_mm=0.15)
    assert [side.mm for side in each["2"]] == pytest.approx([0.9, 1.1], abs=0.1)


def stay(across: tuple[tuple[float, float], ...]) -> Stay:
    """A stay in which the lever was pressed home once, before all else, by 0.8 mm."""
    time, place, rate = hand((0.0, 2.0), *across, noise=0.05)
    home = np.random.default_rng(9).normal(0, 0.05, place.size) + 0.8 * ((time > 0.5) & (time < 1.2))
    left, right = (find_presses(time, place * sign, rate, from_middle=True) for sign in (-1, 1))
    return Stay(along=find_presses(time, home, rate), left=left, right=right)
