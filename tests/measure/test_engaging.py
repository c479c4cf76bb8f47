"""When teeth could clash, and how fast the input shaft turned: drawn levers and speeds, instants by hand."""

from dataclasses import replace

import numpy as np
import pytest

from shiftlog.measure.clash import COASTS_RPMPS, find_clash_range, find_unheard_hz
from shiftlog.measure.engaging import find_engaging
from shiftlog.measure.input_shaft import last_closed_s, let_free_rpm, pulled_rpm
from shiftlog.model.shift import Shift
from tests.measure.clashing import RATIO, RPM_PER_MPS, TEETH, Gearbox

LEVER_HZ = 250.0


def scene_with(knots: list[tuple[float, float]], *, clutch_s: tuple[float, float] | None = None, **shift: object):
    """A quiet drive at 15 m/s in second whose lever goes through ``knots`` (time, depth), and its one shift."""
    box = Gearbox(seed=1, minutes=0.5)
    scene = box.scene()
    path = scene.path
    depth = np.interp(path.time_s, *zip(*knots, strict=True))
    own = Shift(
        **{"number": 1, "from_gear": "2", "to_gear": "3", "start_s": 10.0, "end_s": 10.5, "seen_by": "lever",
           "outcome": "clean", "standing": False, **shift}
    )  # fmt: skip
    signals = scene.signals
    if clutch_s is not None:
        at = np.arange(0, 30, 0.02)
        down = ((at >= clutch_s[0]) & (at <= clutch_s[1])).astype(float)
        signals = replace(signals, clutch=box.trace(at, down, 50.0, "pedal"))
    return replace(scene, path=replace(path, depth=depth), shifts=(own,), signals=signals), own


CLEAN = [(0.0, 1.0), (10.0, 0.9), (10.1, 0.0), (10.2, 0.0), (10.3, 0.5), (10.5, 0.9), (10.6, 1.0)]


def test_window_runs_from_the_touch_to_just_before_the_end() -> None:
    """Depth 0.2 is crossed at 10.24 s; to a tenth of a sample, as crossings are interpolated."""
    scene, shift = scene_with(CLEAN)
    first_s, last_s = find_engaging(shift, scene, apart_s=0.0)
    assert first_s == pytest.approx(10.24, abs=0.0005) and last_s == pytest.approx(10.49)


def test_refused_attempts_count_from_the_first_on() -> None:
    knots = [*CLEAN[:4], (10.3, 0.5), (10.4, 0.05), (10.6, 0.05), (10.7, 0.5), (10.9, 0.9), (11.0, 1.0)]
    scene, shift = scene_with(knots, end_s=10.9, outcome="second_push", attempts=2)
    assert find_engaging(shift, scene, apart_s=0.0) == pytest.approx((10.24, 10.89), abs=0.001)


@pytest.mark.parametrize(
    ("after", "end_s"),
    [
        # Back into the old gear, in again at 10.7 s; or left in neutral, where the journey ends below 0.1.
        ([(10.5, 0.0), (10.6, 0.0), (10.7, 0.9), (10.8, 1.0)], 10.7),
        ([(10.5, 0.0), (29.0, 0.0)], 10.4778),
    ],
)
def test_a_missed_gear_counts_to_the_last_fall(after: list, end_s: float) -> None:
    """From 0.45 at 10.4 s to 0 at 10.5 s: depth 0.2 at 10.4556 s."""
    scene, shift = scene_with([*CLEAN[:4], (10.3, 0.45), (10.4, 0.45), *after], end_s=end_s, outcome="missed")
    assert find_engaging(shift, scene, apart_s=0.0) == pytest.approx((10.2444, 10.4556), abs=0.001)


def test_gears_passed_through_are_left_out() -> None:
    """Their own dogs knock as they go in."""
    knots = [*CLEAN[:4], (10.3, 1.0), (10.4, 1.0), (10.5, 0.0), (10.6, 0.0), (10.7, 0.5), (10.9, 0.9), (11.0, 1.0)]
    scene, shift = scene_with(knots, end_s=10.9, from_gear="5", via=("4",))
    assert find_engaging(shift, scene, apart_s=0.0)[0] == pytest.approx(10.64, abs=0.001)


def test_a_loose_clock_keeps_clear_of_the_blow_and_begins_sooner() -> None:
    scene, shift = scene_with(CLEAN)
    first_s, last_s = find_engaging(shift, scene, apart_s=0.005)
    assert first_s == pytest.approx(10.23, abs=0.0005) and last_s == pytest.approx(10.48)


def test_the_input_shaft_turns_as_the_engine_did_while_the_clutch_was_closed() -> None:
    """The engine falls from 3,900 rpm with the clutch down; the shaft was let go at 9.9 s, whatever the engine does."""
    scene, shift = scene_with(CLEAN, clutch_s=(9.9, 10.8), out_s=10.05, entered_s=10.22)
    engine = scene.signals.engine_speed
    rpm = np.where(engine.time_s > 9.9, 2000.0, 3900.0)
    scene = replace(scene, signals=replace(scene.signals, engine_speed=replace(engine, values=rpm)))
    assert last_closed_s(shift, scene) == pytest.approx(9.9, abs=0.03)
    assert let_free_rpm(shift, scene) == pytest.approx(3900.0)
    assert pulled_rpm(shift, scene) == pytest.approx(15 * RPM_PER_MPS["3"])


def test_without_engine_speed_the_wheels_tell_and_without_vehicle_speed_the_ratios() -> None:
    scene, shift = scene_with(CLEAN)
    wheels = replace(scene, signals=replace(scene.signals, engine_speed=None))
    assert let_free_rpm(shift, wheels) == pytest.approx(15 * RPM_PER_MPS["2"])
    engine = replace(scene, signals=replace(scene.signals, vehicle_speed=None))
    assert pulled_rpm(shift, engine) == pytest.approx(3900 * RPM_PER_MPS["3"] / RPM_PER_MPS["2"])


def test_coasting_widens_a_shift_down_only() -> None:
    """Upwards the shaft coasts towards what the new gear will pull it to; downwards away from it."""
    scene, up = scene_with(CLEAN)
    down = replace(up, from_gear="3", to_gear="2")
    slower = replace(scene.signals.engine_speed, values=0 * scene.signals.engine_speed.values + 2805.0)
    assert find_clash_range(up, scene).coasts_hz == 0.0
    allowed = find_clash_range(down, replace(scene, signals=replace(scene.signals, engine_speed=slower)))
    assert allowed.from_hz == pytest.approx(TEETH * (3900 - 2805) / RATIO["2"] / 60)
    assert allowed.coasts_hz == pytest.approx(TEETH * COASTS_RPMPS * 0.5 / RATIO["2"] / 60)


def test_what_cannot_be_heard_is_known_without_the_teeth_too() -> None:
    """36 teeth at 1,067 rpm pass at 640 Hz; usual teeth are taken where the profile does not tell."""
    scene, shift = scene_with(CLEAN)
    quick = replace(scene.signals.engine_speed, values=0 * scene.signals.engine_speed.values + 6000.0)
    scene = replace(scene, signals=replace(scene.signals, engine_speed=quick))
    bare = replace(scene, car=replace(scene.car, dog_teeth={}))
    assert find_unheard_hz(shift, bare, top_hz=640.0) == pytest.approx(find_unheard_hz(shift, scene, top_hz=640.0))
    assert find_unheard_hz(shift, scene, top_hz=1600.0) is None
    assert "dog_teeth" in find_clash_range(shift, bare)
