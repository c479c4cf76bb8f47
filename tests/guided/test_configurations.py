"""One test in several configurations: where friction and return come from."""

import pytest

from shiftlog.guided.configurations import compare_configurations
from shiftlog.measure.share import share_of
from shiftlog.model.guided import Figure, GuidedResult
from shiftlog.pipeline import load_drive, measure_drive
from tests.guided.made_lever import MadeLever, Spring
from tests.guided.made_release import MadeRelease


def told(configuration, *, apart=0.5, u=0.1, stuck=False, seconds=0.2) -> GuidedResult:
    return GuidedResult(
        kind="release", start_s=0.0, end_s=9.0, configuration=configuration, says=(),
        figures=(
            Figure(key="no_motion", label="", share=share_of(20 if stuck else 0, 20)),
            Figure(key="hysteresis_mm", label="", unit="mm", value=apart, uncertainty=u),
            Figure(key="return_time_s", label="", unit="s", of="left", value=seconds),
        ),
    )  # fmt: skip


def say(*results) -> str:
    return " ".join(compare_configurations(results).says)


def test_friction_that_the_lever_box_has_by_itself_is_its_own():
    assert "Most of the friction comes from the lever box" in say(
        told("complete", apart=6.0), told("cables off", apart=5.5)
    )


def test_friction_that_no_part_has_is_the_cables():
    words = say(told("complete", apart=6.0), told("cables off", apart=0.5), told("tower by hand", apart=0.6))
    assert "Most of the friction comes from the cables" in words


def test_without_the_tower_what_is_left_may_be_either():
    assert "the cables or the tower" in say(told("complete", apart=6.0), told("cables off", apart=0.5))


def test_friction_of_the_tower():
    words = say(told("complete", apart=6.0), told("cables off", apart=0.4), told("tower by hand", apart=5.4))
    assert "Most of the friction comes from the tower" in words


def test_what_is_within_its_uncertainty_is_left_open():
    assert "No one place" in say(told("complete", apart=6.0, u=1.5), told("cables off", apart=3.4, u=1.5))


def test_a_spring_in_the_tower_leaves_the_lever_without_return():
    words = say(told("complete"), told("cables off", stuck=True, apart=48.0), told("tower by hand"))
    assert "no return" in words and "in the tower" in words
    assert "Most of the friction" not in words


def test_one_configuration_alone_says_what_to_repeat():
    compared = compare_configurations([told(None, apart=6.0)])
    assert compared.configurations == ("complete",)
    assert "cables off" in compared.doubts[0]


def test_no_release_test_gives_nothing():
    assert compare_configurations([]) is None


@pytest.mark.parametrize("order", [("complete", "cables off"), ("cables off", "complete")])
def test_of_one_recording_with_the_spring_in_the_tower(order, tmp_path):
    """The gate is known from the tour; with the cables off the lever stays where it is let go."""
    lever = MadeLever(12, "five")
    lever.tour(times=3)
    for name in order:
        spring = Spring(frequency_hz=5.0, damping=0.5, friction_mm=0.6)
        stick = 1.0 if name == "cables off" else 0.0
        MadeRelease(seed=12, each=6, spring=spring, stick=stick, configuration=name).add(lever)
    results = measure_drive(load_drive(lever.write(tmp_path))).guided
    assert tuple(r.configuration for r in results) == order
    assert "the lever has no return" in " ".join(compare_configurations(results).says)
