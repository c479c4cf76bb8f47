"""One blow and a train of blows: how long each is loud, on made courses of loudness."""

import numpy as np
import pytest

from shiftlog.measure.one_blow import is_more_than_blow
from shiftlog.measure.scene import Scene
from shiftlog.measure.sound import Sound
from shiftlog.measure.usual_sound import Usual
from shiftlog.model.car import Car
from shiftlog.model.drive import Signals
from shiftlog.model.settings import Settings
from shiftlog.model.shift import Shift
from shiftlog.signal.loudness import HOP_S

FALLS_DB = 3.0
"""What the dogs' blow loses from window to window."""


def falling(peak_db: float, falls_db: float, count: int = 40) -> np.ndarray:
    """Background, two windows that rise, a peak, and what rings on, (count + 10,) [dB over the background]."""
    rung = np.maximum(peak_db - falls_db * np.arange(count), 0.0)
    return np.concatenate([np.zeros(8), [peak_db - 8, peak_db - 2], rung])


def drive(blows: int, road_db: float = 0.0) -> tuple[Usual, Scene]:
    """So many shifts, each with a blow of 25 dB over a background that is higher by ``road_db``."""
    time = np.arange(0, 4.0 * (blows + 1), HOP_S)
    over_db, shifts = np.zeros(time.size), []
    for number in range(1, blows + 1):
        end_s = 4.0 * number
        first = int(np.searchsorted(time, end_s)) - 10
        blow = falling(25.0, FALLS_DB)
        over_db[first : first + blow.size] = blow
        shifts.append(
            Shift(
                number=number, from_gear="1", to_gear="2", start_s=end_s - 0.3, end_s=end_s, seen_by="lever",
                outcome="clean", standing=False,
            )
        )  # fmt: skip
    expected = np.full(time.size, 10 ** (road_db / 10))
    power = expected + 10 ** (over_db / 10) - 1
    nothing = np.zeros(time.size)
    sound = Sound(
        time_s=time, power=power, thud=nothing, parts=np.stack([power] * 3, axis=1), clipped=nothing > 0,
        spans=((0.0, float(time[-1])),), low_hz=100.0, top_hz=640.0,
    )  # fmt: skip
    usual = Usual(
        sound=sound, expected=expected, quiet=nothing == 0, heard_db=nothing, stands_db=nothing, bare_db=nothing,
        thud_db=nothing, wander_db=1.0,
    )  # fmt: skip
    scene = Scene(
        signals=Signals(), car=Car(name="test", gate=None), path=None, settings=Settings(), shifts=tuple(shifts)
    )
    return usual, scene


TEETH = np.where(np.arange(24) % 4 == 0, 24.0, 12.0)
"""One hard tooth in four: 12 dB between them, for 120 ms."""


@pytest.mark.parametrize("road_db", [0.0, 6.0])
@pytest.mark.parametrize("peak_db", [9.0, 15.0, 30.0])
def test_one_touch_that_rings_like_the_dogs_is_no_train(peak_db: float, road_db: float) -> None:
    usual, scene = drive(12, road_db)
    assert not is_more_than_blow(falling(peak_db, FALLS_DB), usual, scene)


@pytest.mark.parametrize("blows", [0, 12])
@pytest.mark.parametrize("train", [np.full(20, 22.0), TEETH])
def test_teeth_that_come_again_and_again_outlast_a_blow(train: np.ndarray, blows: int) -> None:
    usual, scene = drive(blows)
    course = np.concatenate([np.zeros(8), train, falling(20.0, FALLS_DB)[10:]])
    assert is_more_than_blow(course, usual, scene)


def test_with_too_few_blows_to_learn_from_a_usual_ringing_stands_in() -> None:
    usual, scene = drive(2)
    assert not is_more_than_blow(falling(20.0, FALLS_DB), usual, scene)


def test_what_never_stands_out_outlasts_nothing() -> None:
    usual, scene = drive(12)
    assert not is_more_than_blow(np.array([1.0, 5.0, 5.5, 2.0, 0.0]), usual, scene)


def test_a_few_teeth_that_strike_anew_are_more_than_a_blow_that_scatters() -> None:
    """Three teeth 20 ms apart are over nearly as soon as one blow, but fall and rise again by 8 dB."""
    usual, scene = drive(12)
    teeth = [0.0, 0.0, 20.0, 27.0, 20.0, 14.0, 24.0, 27.0, 18.0, 15.0, 23.0, 17.0, 8.0, 0.0]
    assert is_more_than_blow(np.array(teeth), usual, scene)
    scatters = falling(27.0, FALLS_DB) + np.tile([0.0, 2.0], 25)
    assert not is_more_than_blow(scatters, usual, scene)
