"""What a setting may not claim: one way or side alone, an adjuster's end, a lever on its stop, unknown coupling."""

from dataclasses import replace

import numpy as np
import pytest

from shiftlog.cables.coupling import find_coupling, measure_skew
from shiftlog.cables.document import advice_to_document
from shiftlog.cables.programme import build_rows, find_best
from shiftlog.cables.setting import advise
from shiftlog.commands.cables import advice_lines
from shiftlog.errors import CannotMeasure
from shiftlog.model.cables import Clearance
from shiftlog.model.car import Car, GateLayout, Plane
from shiftlog.model.gate import GateMap, Seat

LAYOUT = GateLayout(
    planes=(Plane(forward="R", rear="1"), Plane(forward="2", rear="3"), Plane(forward="4", rear="5")), home="2-3",
    plane_pitch_mm=22, engage_travel_mm=34,
)  # fmt: skip
WAYS = {"R": 1, "2": 1, "4": 1, "1": -1, "3": -1, "5": -1}
TURN = {"end": "turn", "engage_mm_per_turn": 1.0, "select_mm_per_turn": 1.0}


def clearance(gear: str, mm: float, **more: object) -> Clearance:
    given = {"sd_mm": 0.05, "u_mm": 0.05, "presses": 3, "wanted_mm": 1.0} | more
    return Clearance(gear=gear, way=WAYS[gear], clearance_mm=mm, **given)


def car(**cables: object) -> Car:
    return Car(name="x", gate=LAYOUT, cables=TURN | cables, limits={"clearance_mm": 1.0})


def every(forward: float, rearward: float, **more: object) -> list[Clearance]:
    return [clearance(g, forward if way > 0 else rearward, **more) for g, way in WAYS.items()]


def gate(*, along: float = 0.0, across: float = 0.0, scale: str = "absolute") -> GateMap:
    """Seats of a gate whose rows slope and whose planes lean by so much."""
    seats = []
    for gear in LAYOUT.gears:
        x, y = LAYOUT.position_mm(gear)
        seats.append(Seat(gear=gear, select_mm=x + across * y, engage_mm=y + along * x, spread_mm=0.1, stays=3,
                          off_mm=(0.0, 0.0)))  # fmt: skip
    return GateMap(matrix=np.eye(2), offset=np.zeros(2), orientation="declared", evidence="", scale=scale,
                   seats=tuple(seats), layout=LAYOUT, noise_mm=0.05)  # fmt: skip


@pytest.mark.parametrize(("way", "press"), [(1, "press 1, 3 and 5 home"), (-1, "press R, 2 and 4 home")])
def test_gears_of_one_way_alone_give_no_setting(way: int, press: str) -> None:
    found = [c for c in every(0.3, 0.4) if c.way == way]
    with pytest.raises(CannotMeasure, match=press):
        advise(found, car())


def test_a_soft_stop_does_not_stand_for_its_way() -> None:
    found = [clearance("2", 0.3), clearance("3", 2.0, soft=True)]
    with pytest.raises(CannotMeasure, match="press 1 and 5 home as well; the stop of 3 gives"):
        advise(found, car())


def test_gears_that_were_not_pressed_are_named() -> None:
    advice = advise([clearance("2", 0.3), clearance("3", 3.0)], car())
    assert advice.not_pressed == ("R", "4", "1", "5")
    assert any("Not pressed: R, 4, 1 and 5" in line for line in advice_lines(advice))


def test_the_select_cable_stays_where_nothing_across_was_measured() -> None:
    """Also where the engage adjuster ends early and the axes are coupled: then turning select would seem to help."""
    tight = car(engage_range_mm=[-0.2, 0.2], engage_per_select=0.06)
    advice = advise(every(0.3, 3.0), tight, gate(along=0.06))
    assert advice.setting.select_mm == 0.0 and not advice.knows_across
    assert not [t for t in advice.turn_table if t.setting.select_turns]


@pytest.mark.parametrize("side", ["left", "right"])
def test_one_side_alone_bounds_no_select_cable(side: str) -> None:
    advice = advise(every(2.0, 2.0, **{f"{side}_mm": 0.2}), car())
    assert advice.setting.select_mm == 0.0 and advice.verdict == "leave"
    assert any(f"known to the {side} alone" in line for line in advice_lines(advice))


def test_an_adjuster_at_its_end_is_named_as_what_stops_it() -> None:
    """The best change is −1.35 mm and leaves 0.65 mm to spare; the adjuster ends at −0.3 mm."""
    advice = advise(every(0.3, 3.0), car(engage_range_mm=[-0.3, 4]))
    assert advice.verdict == "not_by_adjustment" and advice.stopped_by_range and advice.at_end == ("engage",)
    assert advice.beyond.engage_mm == pytest.approx(-1.35, abs=1e-3)
    assert advice.beyond_smallest_mm == pytest.approx(0.65, abs=1e-3)
    assert advice.advised is advice.beyond and advice.beyond.engage_turns is None
    assert "adjuster of the engage cable ends too early" in advice.why and "bushes" not in advice.why
    assert any("longer thread" in step and "1.1 mm rearward" in step for step in advice.steps)
    assert {t.setting.engage_turns: t.within for t in advice.turn_table} == {-1.0: False, 1.0: True}
    assert any("beyond where the adjuster ends" in line for line in advice_lines(advice))


def test_travel_missing_whatever_the_range_is_no_fault_of_the_adjuster() -> None:
    advice = advise(every(0.3, 1.2), car(engage_range_mm=[-0.1, 4]))
    assert advice.verdict == "not_by_adjustment" and not advice.stopped_by_range
    assert "worn bushes" in advice.why and advice.steps == ()


@pytest.mark.parametrize("reach", [(-4.0, -1.5), (0.5, 2.0), (0.0, 0.0)])
def test_a_range_that_leaves_out_nought_is_kept_to(reach: tuple[float, float]) -> None:
    advice = advise(every(0.5, 1.7), car(engage_range_mm=list(reach)))
    assert reach[0] - 1e-6 <= advice.setting.engage_mm <= reach[1] + 1e-6


@pytest.mark.parametrize("seed", range(8))
def test_the_setting_is_as_good_as_an_exhaustive_grid(seed: int) -> None:
    """Any ranges, with and without room across, coupled by the profile; a grid of 0.02 mm."""
    rng = np.random.default_rng([seed, 31])
    found = [
        clearance(g, rng.uniform(0, 4), wanted_mm=rng.uniform(0.5, 2), **({"left_mm": rng.uniform(0.1, 3),
                  "right_mm": rng.uniform(0.1, 3)} if seed % 2 else {}))
        for g in WAYS
    ]  # fmt: skip
    ends = [sorted(rng.uniform(-3, 3, 2)) for _ in range(2)]
    along, across = rng.uniform(-0.12, 0.12, 2)
    advice = advise(found, car(engage_range_mm=ends[0], select_range_mm=ends[1], engage_per_select=along,
                               select_per_engage=across))  # fmt: skip
    tried = [np.linspace(*ends[0], 301), np.linspace(*ends[1], 301) if seed % 2 else np.zeros(1)]
    engage, select = np.meshgrid(*tried, indexing="ij")
    smallest = np.min([s.margin(engage, select) for s in advice.stops], axis=0).max()
    assert advice.smallest_then_mm == pytest.approx(smallest, abs=0.02) and advice.smallest_then_mm >= smallest - 1e-3
    assert ends[0][0] - 1e-6 <= advice.setting.engage_mm <= ends[0][1] + 1e-6


def test_margins_are_those_of_the_physics() -> None:
    """Forward gears lose what the lever moves forward, the right side what it moves to the right, coupled or not."""
    found = [clearance("2", 2.0, left_mm=1.0, right_mm=2.0), clearance("3", 3.0)]
    advice = advise(found, car(engage_per_select=0.1, select_per_engage=-0.05))
    after = advice.after(0.4, 0.2)
    assert (after["2"], after["3"]) == (pytest.approx(2.0 - 0.42), pytest.approx(3.0 + 0.42))
    across = advice.across_after(0.4, 0.2)
    assert across["2", "left"] == pytest.approx(1.0 + 0.18) and across["2", "right"] == pytest.approx(2.0 - 0.18)


def test_a_lever_on_its_stop_makes_figures_bounds() -> None:
    found = [clearance(g, 0.0 if way > 0 else 4.5, presses=0 if way > 0 else 3) for g, way in WAYS.items()]
    advice = advise(found, car())
    assert advice.verdict == "adjust" and advice.doubtful and advice.doubts == ("leans",)
    assert "may cure it" in advice.why and "at least 1.0 mm less" in advice.why and "at most" in advice.why
    assert any(step.startswith("press every gear home again") for step in advice.steps)
    expected = {one["gear"]: one["at_most"] for one in advice_to_document(advice)["expected"]}
    assert expected == {g: way > 0 for g, way in WAYS.items()}
    assert any("at most 2.2" in line for line in advice_lines(advice))
    short = advise([replace(c, clearance_mm=min(c.clearance_mm, 0.5)) for c in found], car())
    assert short.verdict == "not_by_adjustment" and not short.doubtful and "at least" in short.why


def test_coupling_is_not_read_off_seats() -> None:
    """A slope of the rows and a turned sensor look alike: along + across is all that seats by a ruler show."""
    turned = gate(along=0.03, across=0.03)
    assert measure_skew(gate(along=0.06)) == pytest.approx(measure_skew(turned), abs=1e-3)
    assert measure_skew(gate(along=0.05, across=-0.05)) == pytest.approx(0.0, abs=1e-3)
    assert measure_skew(gate(along=0.06, scale="relative")) is None
    found = find_coupling(car(), gate(along=0.06))
    assert not found.known and (found.engage_per_select, found.select_per_engage) == (0.0, 0.0)
    assert found.u == pytest.approx((0.06, 0.06), abs=1e-3)
    given = find_coupling(car(engage_per_select=0.06, select_per_engage=0.0), gate(along=0.06))
    assert given.known and given.engage_per_select == 0.06


def test_unknown_coupling_is_a_doubt_where_it_could_turn_the_answer() -> None:
    """Half a millimetre of the select cable may move the lever 0.025 mm along the gate; 0.05 mm is left there."""
    found = every(1.05, 1.05, u_mm=0.02, left_mm=0.05, right_mm=4.0)
    advice = advise(found, car(), gate(scale="relative"))
    assert advice.setting.select_mm == pytest.approx(0.5, abs=0.01) and advice.doubts == ("coupling",)
    assert "not known and taken as none" in advice.why
    sure = advise(found, car(engage_per_select=0.0, select_per_engage=0.0))
    assert sure.doubts == () and sure.off_axis.known


def test_a_limit_that_is_just_met_is_met() -> None:
    advice = advise(every(0.6, 1.4), car())
    assert advice.verdict == "adjust" and advice.doubts == ("uncertain",) and "just what is wanted" in advice.why


def test_the_words_name_the_cable_and_the_side() -> None:
    small = advise(every(3.0, 3.0, u_mm=0.3, left_mm=0.3, right_mm=0.8), car())
    assert (
        small.verdict == "leave" and "+0.2 mm of the select cable (± 0.3 mm)" in small.why and "engage" not in small.why
    )
    sides = advise(every(3.0, 3.0, left_mm=0.1, right_mm=0.2), car())
    assert "room to either side" in sides.why and "fork" not in sides.why and "select cable" in sides.why
    barely = advise(every(0.98, 0.98), car())
    assert "less than 0.1 mm short" in barely.why and "0.0 mm" not in barely.why


def test_the_document_holds_what_is_left_across_and_what_was_reckoned_with() -> None:
    advice = advise(every(3.0, 3.0, left_mm=0.4, right_mm=1.6), car())
    first = advice_to_document(advice)["expected"][0]
    assert first["left_mm"] == pytest.approx(1.0, abs=0.01) and first["right_mm"] == pytest.approx(1.0, abs=0.01)
    assert any("left then mm" in line for line in advice_lines(advice))
    ended = advice_to_document(advise(every(0.3, 3.0), car(engage_range_mm=[-0.3, 4])))
    assert ended["at_end"] == ["engage"] and ended["beyond_range"]["engage_mm"] == pytest.approx(-1.35, abs=1e-3)
    assert ended["coupling"]["known"] is False and ended["stopped_by_range"] is True


def test_of_equal_settings_in_a_range_without_nought_the_least_moved_is_taken() -> None:
    rows = build_rows(advise(every(1.0, 3.0), car()).stops)
    assert find_best(rows, ((0.5, 2.0), (0.0, 0.0)))[0] == pytest.approx(0.5, abs=1e-3)
