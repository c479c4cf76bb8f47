"""After the cables were turned: made tests whose cables really move by another pitch than the profile says."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from shiftlog.cables.follow_up import follow_up, turning_of, turnings_of
from shiftlog.cables.setting import advise
from shiftlog.cli import main
from shiftlog.errors import CannotMeasure
from shiftlog.model.cables import Clearance
from shiftlog.model.car import Car
from shiftlog.model.follow_up import FollowUp
from shiftlog.pipeline import follow_cables, load_drive
from tests.cables.made_test import LAYOUTS, MadeTest

CARS = 14
CAR = Car(name="x", gate=None, cables={"end": "turn", "engage_mm_per_turn": 1.25, "select_mm_per_turn": 1.0})


def room(gear: str, way: int, mm: float, **more: object) -> Clearance:
    return Clearance(gear=gear, way=way, clearance_mm=mm, sd_mm=0.05, u_mm=0.04, presses=3, wanted_mm=1.0, **more)


def four(engage_mm: float = 0.0, **more: float) -> list[Clearance]:
    """Four gears after the engage cable moved the lever; ``more`` by gear, ``_2`` for gear 2, what lies beyond that."""
    ways = {"1": (1, 2.2), "2": (-1, 2.6), "3": (1, 3.0), "4": (-1, 2.0)}
    return [room(g, w, mm - w * engage_mm + more.get(f"_{g}", 0.0)) for g, (w, mm) in ways.items()]


def followed(after: list[Clearance], *, turns: float = 1.0, car: Car = CAR) -> FollowUp:
    turnings = turning_of("engage", car, turns=turns), turning_of("select", car, turns=0.0)
    return follow_up(four(), after, turnings, car)


@pytest.fixture(scope="module")
def changed(tmp_path_factory) -> list[tuple[float, float, FollowUp]]:
    """(true mm per turn, turns, what was found) of many cars, turned at random by a mechanic who reads eighths."""
    folder, found = tmp_path_factory.mktemp("changed"), []
    for seed in range(700, 700 + CARS):
        rng = np.random.default_rng([seed, 9])
        pitch = float(rng.uniform(0.8, 2.0))
        first = MadeTest(seed=seed, layout=list(LAYOUTS)[seed % len(LAYOUTS)])
        turns = float(rng.choice([-2.0, -1.5, -1.0, 1.0, 1.5, 2.0]))
        really = turns + float(rng.uniform(-1, 1)) / 16
        then = first.turned(pitch * really)
        drives = [[load_drive(one.write(folder / f"{seed}{k}"))] for k, one in enumerate((first, then))]
        car = drives[1][0].car
        turnings = turning_of("engage", car, turns=turns), turning_of("select", car, turns=0.0)
        found.append((pitch, turns, follow_cables(*drives, turnings)))
    return found


def test_a_turn_is_worth_what_it_really_moved(changed) -> None:
    off = []
    for pitch, _, one in changed:
        reading = one.cable("engage").mm_per_turn
        off.append((float(reading.value) - pitch) / reading.uncertainty)
        assert float(reading.value) == pytest.approx(pitch, rel=0.12)
    assert np.median(np.abs([float(one.cable("engage").mm_per_turn.value) / p - 1 for p, _, one in changed])) < 0.04
    assert np.mean(np.abs(off) < 1.96) >= 0.8


def test_gears_follow_what_moved_and_a_wrong_pitch_is_told(changed) -> None:
    """Cars whose true move lies within 0.25 mm of what was foretold may go either way."""
    for pitch, turns, one in changed:
        assert one.verdict != "unlike", f"{[(g.gear, g.fits, g.verdict) for g in one.gears]}"
        if abs((pitch - 1.25) * turns) > 0.25:
            assert one.verdict == "other_pitch" and one.cable("engage").verdict in ("more", "less")
            assert "by another amount than was foretold" in one.why


def test_what_came_as_foretold_is_said_so() -> None:
    one = followed(four(1.25))
    assert one.verdict == "as_foretold" and {g.verdict for g in one.gears} == {"same"}
    assert one.cable("engage").mm_per_turn.value == pytest.approx(1.25, abs=1e-6)
    assert one.why.startswith("It came as foretold") and "with just what is wanted" in one.why


def test_one_gear_that_did_not_go_along_is_named_and_does_not_pull_the_others() -> None:
    one = followed(four(1.25, _4=-1.2))
    assert one.verdict == "unlike" and one.why.startswith("4 did not go along")
    assert [g.gear for g in one.gears if g.fits != "same"] == ["4"]
    assert one.cable("engage").moved_mm.value == pytest.approx(1.25, abs=0.12)
    assert "repeat the test there" in one.steps[0]


def test_turned_the_wrong_way_is_said_and_never_written_into_a_profile() -> None:
    one = followed(four(-1.2))
    assert one.cable("engage").other_way and "which way the adjuster turns" in one.steps[0]


def test_a_gear_that_came_to_lean_on_its_stop_bounds_nothing() -> None:
    after = [replace(c, clearance_mm=0.0, presses=0, u_mm=0.15) if c.gear == "1" else c for c in four(3.0)]
    one = followed(after, turns=2.0)
    assert one.cable("engage").moved_mm.value == pytest.approx(3.0, abs=0.01)
    assert next(g for g in one.gears if g.gear == "1").why.startswith("the lever leaned")


def test_the_select_cable_shows_across_the_gate_only() -> None:
    after = four(1.25)
    turnings = turning_of("engage", CAR, turns=1.0), turning_of("select", CAR, turns=1.5)
    one = follow_up(four(), after, turnings, CAR)
    assert one.cable("select").moved_mm.value is None and "either side in gear" in one.cable("select").moved_mm.why
    sides = [replace(c, left_mm=1.0, right_mm=1.4) for c in four()]
    moved = [replace(c, left_mm=1.0 + 0.9, right_mm=1.4 - 0.9) for c in after]
    turnings = turning_of("engage", CAR, turns=1.0), turning_of("select", CAR, turns=1.0)
    seen = follow_up(sides, moved, turnings, CAR).cable("select")
    assert seen.moved_mm.value == pytest.approx(0.9, abs=1e-6) and seen.mm_per_turn.value == pytest.approx(
        0.9, abs=1e-6
    )


def test_a_profile_without_a_pitch_gets_one_though_nothing_was_foretold() -> None:
    one = followed(four(1.6), car=Car(name="x", gate=None, cables={"end": "turn"}))
    assert one.verdict == "not_known" and all(g.foretold_mm is None for g in one.gears)
    assert one.cable("engage").mm_per_turn.value == pytest.approx(1.6, abs=1e-6)


def test_a_cable_in_a_clamp_has_no_turns() -> None:
    car = Car(name="x", gate=None, cables={"end": "clamp"})
    advice = advise(four(), car)
    turnings = turnings_of(advice.setting, car)
    one = follow_up(four(), four(advice.setting.engage_mm), turnings, car)
    assert one.verdict == "as_foretold" and "no turns" in one.cable("engage").mm_per_turn.why


def test_nothing_changed_and_nothing_in_common_are_refused() -> None:
    with pytest.raises(CannotMeasure, match="neither cable was changed"):
        followed(four(), turns=0.0)
    with pytest.raises(CannotMeasure, match="no gear was pressed in both"):
        followed([room("5", 1, 2.0)])


def test_the_next_steps_end_on_the_road_and_begin_at_the_lock_out() -> None:
    steps = followed(four(1.25)).steps
    assert [any(word in step for step in steps) for word in ("lock-out", "every gear in and out", "free in neutral")]
    assert steps[0].startswith("check the lock-out") and steps[-1] == "only then the road"


@pytest.fixture
def two_tests(tmp_path: Path) -> tuple[Path, Path]:
    first = MadeTest(seed=31, sides={"3": (1.2, 1.5), "4": (1.3, 1.1)})
    return first.write(tmp_path / "before"), first.turned(1.5 * 1.4, -0.6).write(tmp_path / "after")


def test_the_command_follows_up_and_corrects_the_profile(two_tests, capsys, tmp_path: Path) -> None:
    before, after = two_tests
    profile = after / "car.toml"
    old = profile.read_text(encoding="utf-8").replace(
        "engage_mm_per_turn = 1.25", "engage_mm_per_turn = 1.25  # guessed"
    )
    profile.write_text(old, encoding="utf-8")
    answer = tmp_path / "answer.json"
    asked = ["cables", str(before), "--after", str(after), "--turned-engage", "1.5", "--turned-select", "-0.5"]
    assert main([*asked, "--json", str(answer), "--correct-profile", str(profile)]) == 0
    said = capsys.readouterr().out
    assert "All gears together moved by another amount than was foretold" in said
    assert said.index("lock-out") < said.index("every gear in and out") < said.index("only then the road")
    document = json.loads(answer.read_text(encoding="utf-8"))
    cables = {c["cable"]: c for c in document["cables"]}
    assert cables["engage"]["mm_per_turn"]["value"] == pytest.approx(1.4, abs=0.08)
    assert cables["select"]["mm_per_turn"]["value"] == pytest.approx(1.2, abs=0.25)
    new = profile.read_text(encoding="utf-8")
    pitch = load_drive(after).car.cables["engage_mm_per_turn"]
    assert pitch == pytest.approx(1.4, abs=0.08) and f"engage_mm_per_turn = {pitch}  # guessed" in new
    changed = [pair for pair in zip(old.splitlines(), new.splitlines(), strict=True) if pair[0] != pair[1]]
    assert 1 <= len(changed) <= 2 and all("mm_per_turn" in line for line, _ in changed)


def test_the_advice_is_what_was_followed_where_nothing_else_is_given(two_tests, capsys) -> None:
    before, after = two_tests
    assert main(["cables", str(before), "--after", str(after)]) == 0
    assert "foretold" in capsys.readouterr().out


@pytest.mark.parametrize("more", [["--turned-engage", "1"], ["--correct-profile", "car.toml"]])
def test_what_was_turned_needs_a_test_after_it(two_tests, capsys, more: list[str]) -> None:
    assert main(["cables", str(two_tests[0]), *more]) == 2
    assert "needs --after" in capsys.readouterr().err
