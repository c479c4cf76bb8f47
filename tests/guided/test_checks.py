"""Straight pushes, tries for reverse and free play of made levers, measured by the whole chain."""

from collections import Counter

import pytest

from shiftlog.pipeline import load_drive, measure_drive
from tests.guided.made_checks import MadeLockout, MadePlay, MadePush, draw_lockout, draw_play, draw_push
from tests.guided.made_lever import MadeLever


def answer(lever: MadeLever, folder, **more):
    return measure_drive(load_drive(lever.write(folder, **more))).guided[0]


@pytest.mark.parametrize("seed", [1, 4, 6, 7])
def test_the_gear_that_a_straight_push_finds(seed, tmp_path):
    """Asked: right always. Seed 4 sticks, 6 refuses and sticks, 7 wanders over three planes."""
    made = draw_push(seed)
    lever = made.make()
    result = answer(lever, tmp_path)
    true = Counter(gear for _, gear in made.found if gear)
    found = {f.of: f.share.k for f in result.figures if f.key == "found" and f.share and f.share.k}
    assert found == dict(true)
    home = lever.planes[lever.origin][0]
    assert (result.figure("found_home").share.k, result.figure("found_home").share.n) == (true[home], true.total())


def test_a_push_that_the_gear_refuses_counts_by_its_plane(tmp_path):
    made = MadePush(seed=2, each=4, refused=1.0)
    result = answer(made.make(), tmp_path)
    assert result.figure("found_home").share.k == result.figure("not_fully_in").share.k == 8
    assert any("tooth on tooth" in text for text in result.says)


@pytest.mark.parametrize("seed", [0, 1, 2, 3, 4])
def test_the_lock_out_held_k_of_n_and_how_near_it_was(seed, tmp_path):
    made = draw_lockout(seed)
    result = answer(made.make(), tmp_path)
    share = result.figure("held").share
    assert (share.k, share.n) == (sum(made.held), len(made.held))
    nearest = min(mm for mm, held in zip(made.left_mm, made.held, strict=True) if held)
    assert result.figure("nearest_mm").value == pytest.approx(nearest, abs=0.5)


def test_a_lock_out_that_never_holds_has_no_reach(tmp_path):
    result = answer(MadeLockout(seed=9, tries=6, lost=1.0).make(), tmp_path)
    assert result.figure("held").share.k == 0
    assert result.figure("went_in").share.k == 6
    assert result.figure("nearest_mm").value is None


def test_a_lever_that_is_stopped_early_is_far_from_reverse(tmp_path):
    result = answer(MadeLockout(seed=10, layout="five", tries=6, reach_mm=4.0).make(), tmp_path)
    assert result.figure("held").share.k == 6
    assert result.figure("nearest_mm").value == pytest.approx(11.0, abs=0.6)
    assert not any("little to rely on" in text for text in result.says)


@pytest.mark.parametrize("left_mm", [3.2, 8.0, 12.0])
def test_a_lever_stopped_beyond_half_the_pitch_was_held(left_mm, tmp_path):
    result = answer(MadeLockout(seed=11, layout="six", tries=6, reach_mm=25.0 - left_mm).make(), tmp_path)
    assert (result.figure("held").share.k, result.figure("held").share.n) == (6, 6)
    assert result.figure("nearest_mm").value == pytest.approx(left_mm, abs=0.8)
    assert any("little to rely on" in text for text in result.says) == (left_mm < 4.0)


@pytest.mark.parametrize("layout", ["five", "dogleg", "seven"])
def test_a_hand_may_reach_for_reverse_for_longer_than_it_lets_go(layout, tmp_path):
    made = MadeLockout(seed=13, layout=layout, tries=8, lost=0.3, reach_mm=2.0, hold_s=(2.0, 3.0))
    result = answer(made.make(), tmp_path)
    assert (result.figure("held").share.k, result.figure("held").share.n) == (sum(made.held), 8)


@pytest.mark.parametrize(("layout", "gear"), [("five", "5"), ("dogleg", "1"), ("six_right", "5")])
def test_ways_into_another_gear_on_that_side_are_no_tries(layout, gear, tmp_path):
    made = MadeLockout(seed=12, layout=layout, tries=5, reach_mm=2.0)
    lever = made.make()
    kind, start_s, _, configuration = lever.marks.pop()
    for _ in range(4):
        select, engage = lever.place(gear)
        lever.move((select, 0.0), 0.3)
        lever.move((select, engage), 0.2)
        lever.stay(1.0)
        lever.move((select, 0.0), 0.2)
        lever.run_home(made.spring)
        lever.stay(1.0)
    lever.mark(kind, start_s, configuration)
    result = answer(lever, tmp_path)
    assert (result.figure("held").share.k, result.figure("held").share.n) == (5, 5)
    assert any(text.startswith("4 ways into another gear") for text in result.doubts)


@pytest.mark.parametrize("seed", [0, 3, 4, 7])
def test_free_play_within_three_tenths(seed, tmp_path):
    made = draw_play(seed)
    lever = made.make()
    result = answer(lever, tmp_path, absolute=made.absolute, force=made.logged_force(lever))
    for gear in made.gears:
        assert result.figure("free_play_mm", gear).value == pytest.approx(made.play_mm, abs=0.3)
        assert result.figure("side_play_mm", gear).value == pytest.approx(made.side_mm, abs=0.3)
    assert any("mm_per_unit" in doubt for doubt in result.doubts) is not made.absolute


def test_a_lever_lies_anywhere_in_its_side_play_when_let_go(tmp_path):
    made = MadePlay(seed=6, side_mm=3.0, lies_aside=0.7, absolute=True, light_n=1.0)
    result = answer(made.make(), tmp_path, absolute=True)
    assert result.figure("side_play_mm", "3").value == pytest.approx(made.side_mm, abs=0.3)


def test_give_is_a_line_where_force_is_logged_and_has_a_reason_where_not(tmp_path):
    made = MadePlay(seed=20, give=0.03, firm_n=60.0, with_force=True, absolute=True)
    lever = made.make()
    give = answer(lever, tmp_path / "with", absolute=True, force=made.logged_force(lever)).figure("give_mm_per_n", "3")
    assert give.value == pytest.approx(0.03, abs=0.003)
    assert give.uncertainty < 0.003
    without = answer(MadePlay(seed=20).make(), tmp_path / "without").figure("give_mm_per_n", "3")
    assert without.value is None and "lever_force" in without.why


@pytest.mark.parametrize("kind", ["straight_push", "lockout", "free_play", "release"])
def test_a_span_in_which_nothing_was_done_says_what_to_do(kind, tmp_path):
    lever = MadeLever(1, "five")
    lever.tour(times=2)
    begin = lever.now
    lever.stay(5.0)
    lever.mark(kind, begin)
    result = answer(lever, tmp_path)
    assert not result.figures and result.says[0].startswith("Not measured: no ")


def test_a_gate_that_long_pushing_hides_is_found_by_the_rest_of_the_log(tmp_path):
    """Two minutes of pushes and pulls well beyond the seats, after a short tour of a gate of four gears."""
    made = draw_play(91000)
    lever = made.make()
    folder = lever.write(tmp_path, absolute=made.absolute, force=made.logged_force(lever))
    [told] = measure_drive(load_drive(folder)).guided
    for gear in made.gears:
        assert told.figure("free_play_mm", gear).value == pytest.approx(made.play_mm, abs=0.3)
