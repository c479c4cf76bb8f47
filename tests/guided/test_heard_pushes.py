"""Spin-down without a lever sensor: pushes heard at the gearbox, their times from the clutch or from the card."""

import numpy as np
import pytest

from shiftlog.pipeline import load_drive, measure_drive

from .made_spin_down import MadeSpinDown


def _measure(folder):
    return measure_drive(load_drive(folder)).guided[0]


@pytest.mark.parametrize(("seed", "has_clutch"), [(11, True), (12, True), (13, False), (14, False)])
def test_a_free_shaft_has_its_bracket_without_a_lever_sensor(tmp_path, seed, has_clutch):
    made = MadeSpinDown(
        seed=seed, coulomb_rpmps=110.0, tau_s=4.0, has_lever=False, has_clutch=has_clutch, by_card=True,
        stop_when_loud=False,
    )  # fmt: skip
    told = _measure(made.run(tmp_path / "d"))
    quiet = told.figure("quiet_after_s")
    assert quiet.interval95[0] - 0.5 < made.rests_after_s < quiet.value + 0.5
    assert "comes to rest" in told.says[0] and any("heard" in doubt for doubt in told.doubts)


@pytest.mark.parametrize("has_clutch", [True, False])
def test_a_driven_shaft_has_its_plateau_without_a_lever_sensor(tmp_path, has_clutch):
    made = MadeSpinDown(
        seed=16, coulomb_rpmps=150.0, tau_s=1.5, drive_rpmps=500.0, has_lever=False, has_clutch=has_clutch, by_card=True
    )  # fmt: skip
    told = _measure(made.run(tmp_path / "d"))
    assert "still driven" in told.says[0]
    assert told.figure("plateau_rpm").value == pytest.approx(made.shaft_rpm(10.0), rel=0.05)


def test_with_and_without_the_lever_the_shaft_turns_alike(tmp_path):
    speeds = []
    for has_lever in (True, False):
        made = MadeSpinDown(seed=17, coulomb_rpmps=90.0, tau_s=4.0, has_lever=has_lever, stop_when_loud=False)
        told = _measure(made.run(tmp_path / str(has_lever)))
        speeds.append([f.value for f in told.figures if f.key == "shaft_rpm" and f.value is not None])
    assert speeds[0] and np.allclose(speeds[0], speeds[1], rtol=0.05)


def test_a_synchronised_reverse_without_a_lever_is_refused(tmp_path):
    made = MadeSpinDown(seed=18, has_lever=False, gearbox={"reverse_synchronised": True})
    told = _measure(made.run(tmp_path / "d"))
    assert not told.figures and "fit the lever sensor" in told.says[0]


def test_a_span_that_holds_no_whole_prompt_is_refused(tmp_path):
    made = MadeSpinDown(seed=19, has_lever=False, has_clutch=False, by_card=True, waits_s=())
    told = _measure(made.run(tmp_path / "d"))
    assert not told.figures and "prompts" in told.says[0]


@pytest.mark.parametrize("has_lever", [False, True])
def test_typed_waits_count_where_nothing_else_tells_them(tmp_path, has_lever):
    made = MadeSpinDown(
        seed=41, coulomb_rpmps=90.0, tau_s=4.0, has_lever=has_lever, has_clutch=False, types_waits=True,
        waits_s=(8.0, 4.0, 2.5, 1.5), stop_when_loud=False,
    )  # fmt: skip
    told = _measure(made.run(tmp_path / "d"))
    assert [f.value for f in told.figures if f.key == "waited_s"] == [8.0, 4.0, 2.5, 1.5]
    quiet = told.figure("quiet_after_s")
    assert quiet.interval95[0] - 0.5 < made.rests_after_s < quiet.value + 0.5
    assert any("those typed, 8, 4, 2.5, 1.5 s" in doubt for doubt in told.doubts)


def test_a_single_try_with_its_wait_typed_tells_a_driven_shaft(tmp_path):
    made = MadeSpinDown(
        seed=42, coulomb_rpmps=150.0, tau_s=1.5, drive_rpmps=500.0, has_lever=False, has_clutch=False,
        types_waits=True, waits_s=(10.0,),
    )  # fmt: skip
    told = _measure(made.run(tmp_path / "d"))
    assert "still driven" in told.says[0]
    assert told.figure("plateau_rpm").value == pytest.approx(made.shaft_rpm(10.0), rel=0.05)


@pytest.mark.parametrize(
    ("typed", "reason"),
    [
        ((10.0, 5.0), "2 waits are typed, and the marked span holds 3 tries"),
        ((5.0, 10.0, 12.0), "too soon for the typed wait"),
    ],
)
def test_waits_that_cannot_be_those_of_the_tries_are_refused_with_their_times(tmp_path, typed, reason):
    made = MadeSpinDown(
        seed=43, coulomb_rpmps=90.0, has_lever=False, has_clutch=False, waits_s=(10.0, 5.0, 3.0), stop_when_loud=False,
    )  # fmt: skip
    folder = made.run(tmp_path / "d")
    file = folder / "drive.toml"
    file.write_text(file.read_text(encoding="utf-8") + f"waits_s = {list(typed)}\n", encoding="utf-8")
    told = _measure(folder)
    assert not told.figures and reason in told.says[0]
