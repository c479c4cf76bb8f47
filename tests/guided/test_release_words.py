"""What a release test points to."""

import numpy as np
import pytest

from shiftlog.guided.release_words import say_release
from shiftlog.model.car import GateLayout, Plane
from shiftlog.model.gate import GateMap
from shiftlog.model.guided import Figure
from shiftlog.model.share import Share

LAYOUT = GateLayout(planes=(Plane(forward="1", rear="2"), Plane(forward="3", rear="4")), home="3-4")


@pytest.fixture
def gate() -> GateMap:
    return GateMap(
        matrix=np.eye(2), offset=np.zeros(2), orientation="declared", evidence="", scale="relative", seats=(),
        layout=LAYOUT, noise_mm=0.1,
    )  # fmt: skip


def figures(away: int, *, hysteresis: float | None, offset: float | None) -> list[Figure]:
    def share(key: str, k: int, of: str = "") -> Figure:
        return Figure(key=key, label=key, of=of, share=Share(k=k, n=6, low=0.0, high=1.0))

    def mm(key: str, value: float | None) -> Figure:
        return Figure(key=key, label=key, unit="mm", value=value, why=None if value is not None else "one side alone")

    times = [Figure(key="return_time_s", label="t", of=side, why="none") for side in ("right", "left")]
    lay = [share("lay_in", away, "1-2"), share("lay_in", 6 - away, "3-4")]
    return [share("not_home", away), share("no_motion", 0), *lay, mm("hysteresis_mm", hysteresis),
            mm("offset_mm", offset), *times]  # fmt: skip


@pytest.mark.parametrize(
    ("away", "hysteresis", "offset", "places"),
    [
        (6, None, None, {"adjust", "outside"}),
        (0, None, None, set()),
        (6, 0.4, -24.0, {"adjust"}),
        (3, 20.0, -12.0, {"outside"}),
    ],
)
def test_a_lever_that_does_not_come_home_always_points_somewhere(gate, away, hysteresis, offset, places):
    _, points = say_release(figures(away, hysteresis=hysteresis, offset=offset), gate)
    assert {place for place, _ in points} == places


@pytest.mark.parametrize(
    ("configuration", "places"),
    [(None, {"outside"}), ("complete", {"outside"}), ("Cables off", set()), ("tower by hand", {"inside"})],
)
def test_a_lever_without_motion_means_what_is_connected(gate, configuration, places):
    some = figures(6, hysteresis=40.0, offset=0.0)
    unmoved = Figure(key="no_motion", label="no motion", share=Share(k=6, n=6, low=0.5, high=1.0))
    says, points = say_release(
        [unmoved if f.key == "no_motion" else f for f in some], gate, configuration=configuration
    )
    assert {place for place, _ in points} == places
    assert ("find where with the cables off" in " ".join(says)) == (places == {"outside"})


def test_a_lever_box_that_returns_has_a_friction_of_its_own(gate):
    says, points = say_release(figures(0, hysteresis=6.0, offset=0.0), gate, configuration="cables off")
    assert [place for place, _ in points] == ["outside"] and "lever box by itself" in " ".join(says)


def test_the_cable_setting_does_not_show_with_the_cables_off(gate):
    _, points = say_release(figures(6, hysteresis=0.4, offset=-24.0), gate, configuration="cables off")
    assert points == ()
