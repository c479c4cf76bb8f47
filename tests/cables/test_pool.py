"""Clearances of several tests together: in any order, each test once, of one car alone."""

import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from shiftlog.cables.pool import pool_clearances
from shiftlog.cli import main
from shiftlog.model.cables import Clearance
from tests.cables.made_test import MadeTest

ONE = Clearance(gear="1", way=1, clearance_mm=1.0, sd_mm=0.05, u_mm=0.05, presses=3, wanted_mm=1.0)
LEANS = replace(ONE, clearance_mm=0.0, u_mm=0.2, bound_mm=0.2, presses=0)
ASIDE = replace(ONE, left_mm=0.8, left_u_mm=0.05, right_mm=2.0, right_u_mm=0.05, gives_mm_per_n=0.01)


def pooled(*tests: Clearance) -> Clearance:
    return pool_clearances([(test,) for test in tests])[0]


@pytest.mark.parametrize("order", [1, -1])
def test_room_across_the_gate_stays_whichever_test_has_it(order: int) -> None:
    both = pooled(*(ONE, ASIDE)[::order])
    assert (both.left_mm, both.right_mm, both.gives_mm_per_n) == (0.8, 2.0, 0.01)
    assert both.presses == 6


def test_room_of_two_tests_lies_between_by_how_sure_they_are() -> None:
    both = pooled(ASIDE, replace(ASIDE, left_mm=1.0, left_u_mm=0.1))
    # Inverse variances: (0.8 · 400 + 1.0 · 100) / 500 (the weighted mean, common practice, no source).
    assert both.left_mm == pytest.approx(0.84) and both.right_mm == pytest.approx(2.0)
    assert both.left_u_mm > 0.1 > both.right_u_mm


def test_two_tests_that_bound_a_clearance_give_the_closer_bound() -> None:
    both = pooled(LEANS, replace(LEANS, u_mm=0.3, bound_mm=0.3))
    assert (both.clearance_mm, both.bound_mm, both.u_mm) == (0.0, 0.2, 0.2)


@pytest.mark.parametrize("order", [1, -1])
def test_a_bound_gives_way_to_what_was_measured_and_widens_it(order: int) -> None:
    both = pooled(*(LEANS, ONE)[::order])
    assert both.clearance_mm == 1.0 and both.bound_mm is None and both.u_mm > 0.4


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    return MadeTest(seed=9, layout="four", wanted=0.5).write(tmp_path_factory.mktemp("pool") / "test")


def changed(folder: Path, name: str, old: str, new: str) -> Path:
    other = shutil.copytree(folder, folder.parent / name)
    text = (other / "car.toml").read_text(encoding="utf-8")
    assert old in text
    (other / "car.toml").write_text(text.replace(old, new), encoding="utf-8")
    return other


def test_a_test_given_twice_counts_once_and_it_says_so(folder: Path, capsys) -> None:
    main(["cables", str(folder)])
    alone = capsys.readouterr().out
    copied = shutil.copytree(folder, folder.parent / "copied")
    assert main(["cables", str(folder), str(copied)]) == 0
    said = capsys.readouterr()
    assert said.out == alone and "count once" in said.err


@pytest.mark.parametrize(
    ("name", "old", "new"),
    [("named", '"Made car"', '"Another car"'), ("slots", 'rear = "4" }', 'rear = "R" }')],
)
def test_tests_of_two_cars_are_refused(folder: Path, capsys, name: str, old: str, new: str) -> None:
    other = changed(folder, name, old, new)
    assert main(["cables", str(folder), str(other)]) == 2
    said = capsys.readouterr().err.strip()
    assert "one car at a time" in said and len(said.splitlines()) == 1


def test_a_test_held_against_itself_is_refused(folder: Path, capsys) -> None:
    assert main(["cables", str(folder), "--after", str(folder), "--turned-engage", "1"]) == 2
    assert "against itself" in capsys.readouterr().err


def test_another_cars_profile_is_not_corrected(folder: Path, capsys) -> None:
    after = MadeTest(seed=9, layout="four", wanted=0.5).turned(-0.5).write(folder.parent / "after")
    profile = changed(folder, "van", '"Made car"', '"Another car"') / "car.toml"
    was = profile.read_bytes()
    command = ["cables", str(folder), "--after", str(after), "--turned-engage", "-0.4"]
    assert main([*command, "--correct-profile", str(profile)]) == 2
    assert "is not this car's profile" in capsys.readouterr().err and profile.read_bytes() == was
