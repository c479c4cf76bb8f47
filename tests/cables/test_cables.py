"""Clearances and cable settings: made tests with known clearances, the programme against other ways, the command."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import minimize_scalar

from shiftlog.cables.clearance import measure_clearances
from shiftlog.cables.setting import Rows, advise, find_best
from shiftlog.cli import main
from shiftlog.detect.gates import fit_gate_map
from shiftlog.errors import CannotMeasure
from shiftlog.model.cables import Clearance
from shiftlog.model.car import Car
from shiftlog.model.trace import Trace
from shiftlog.pipeline import advise_cables, load_drive, trace_lever
from tests.cables.made_test import LAYOUTS, MadeTest

WIDE = ((-15.0, 15.0), (-15.0, 15.0))
CARS = 15


def made(seed: int) -> MadeTest:
    wanted = float(np.random.default_rng([seed, 8]).uniform(0.3, 2.5))
    return MadeTest(seed=seed, layout=list(LAYOUTS)[seed % len(LAYOUTS)], wanted=wanted)


def clearance(gear: str, way: int, mm: float, **more: object) -> Clearance:
    return Clearance(gear=gear, way=way, clearance_mm=mm, sd_mm=0.05, u_mm=0.05, presses=3, wanted_mm=1.0, **more)


@pytest.fixture(scope="module")
def answers(tmp_path_factory) -> list[tuple[MadeTest, object]]:
    folder = tmp_path_factory.mktemp("cables")
    tests = [made(seed) for seed in range(400, 400 + CARS)]
    return [(test, advise_cables([load_drive(test.write(folder / str(test.seed)))])) for test in tests]


def test_clearances_are_those_the_lever_had(answers) -> None:
    """Asked: within 0.3 mm, on 10-bit sensors turned and leaning on their axes."""
    for test, advice in answers:
        found = {c.gear: c for c in advice.clearances}
        assert set(found) == set(test.clearances)
        for gear, mm in test.clearances.items():
            assert found[gear].clearance_mm == pytest.approx(mm, abs=0.3), f"seed {test.seed} gear {gear}"


def test_the_setting_is_as_good_as_trying_every_hundredth_of_a_millimetre(answers) -> None:
    for test, advice in answers:
        assert test.smallest(advice.setting.engage_mm) >= test.best()[1] - 0.2, f"seed {test.seed}"


def test_what_adjusting_cannot_cure_is_said_where_it_is_so(answers) -> None:
    """Cars within 0.3 mm of the limit may go either way, and the answer then names the doubt."""
    sides = []
    for test, advice in answers:
        limit = test.best()[1]
        if abs(limit) > 0.3:
            assert (advice.verdict == "not_by_adjustment") is (limit < 0), f"seed {test.seed}: {limit:.2f}"
            sides.append(limit < 0)
        elif (advice.verdict == "not_by_adjustment") is not (limit < 0):
            assert advice.doubtful and "uncertain" in advice.why
    assert any(sides) and not all(sides)


@pytest.mark.parametrize("seed", range(6))
def test_one_cable_is_set_halfway_between_the_tightest_forward_and_the_tightest_rearward(seed: int) -> None:
    """The minimax of one cable in closed form: e = (least forward − least rearward) / 2."""
    rng = np.random.default_rng(seed)
    gears = [clearance(str(k), 1 if k % 2 else -1, float(rng.uniform(0, 4))) for k in range(1, 7)]
    forward, rearward = (min(c.margin_mm for c in gears if c.way == way) for way in (1, -1))
    advice = advise(gears, Car(name="x", gate=None))
    assert advice.setting.engage_mm == pytest.approx((forward - rearward) / 2, abs=1e-3)
    assert advice.smallest_then_mm == pytest.approx((forward + rearward) / 2, abs=1e-3)
    assert advice.setting.select_mm == 0.0


@pytest.mark.parametrize("seed", range(4))
def test_two_coupled_cables_against_a_search_and_a_second_solver(seed: int) -> None:
    """An exhaustive grid of 0.05 mm, and a bounded scalar search along each select setting."""
    rng = np.random.default_rng([seed, 3])
    rows = Rows(
        room=rng.uniform(-1, 3, 10), u=np.full(10, 0.05), gears=tuple("1234567890"),
        takes=np.column_stack([rng.choice([-1, 1], 10), rng.uniform(-0.5, 0.5, 10)]),
    )  # fmt: skip
    ranges = ((-3.0, 3.0), (-2.0, 2.0))
    best = rows.smallest(find_best(rows, ranges))
    tried = [
        rows.smallest(np.array([e, s])) for e in np.arange(-3, 3.01, 0.05) for s in np.arange(-2, 2.01, 0.05)
    ]  # fmt: skip
    assert best == pytest.approx(max(tried), abs=0.06) and best >= max(tried) - 1e-3
    along = [
        -minimize_scalar(lambda e, s=s: -rows.smallest(np.array([e, s])), bounds=ranges[0], method="bounded").fun
        for s in np.linspace(*ranges[1], 81)
    ]
    assert best >= max(along) - 2e-3


def test_a_range_that_ends_too_early_is_kept_to() -> None:
    gears = [clearance("1", 1, 5.0), clearance("2", -1, 0.0)]
    car = Car(name="x", gate=None, cables={"end": "turn", "engage_mm_per_turn": 1.25, "engage_range_mm": [-0.5, 0.5]})
    advice = advise(gears, car)
    assert advice.setting.engage_mm == pytest.approx(0.5, abs=1e-3) and advice.setting.engage_turns == pytest.approx(
        0.4, abs=1e-3
    )
    assert advice.verdict == "not_by_adjustment" and advice.missing_mm == pytest.approx(0.5, abs=1e-3)
    assert {t.setting.engage_turns for t in advice.turn_table} == {-1.0, 1.0}


def test_what_is_within_its_repeatability_is_left_alone() -> None:
    gears = [replace(clearance("1", 1, 0.99), u_mm=0.3), replace(clearance("2", -1, 1.05), u_mm=0.3)]
    advice = advise(gears, Car(name="x", gate=None))
    assert advice.verdict == "leave" and "leave it alone" in advice.why
    enough = advise([clearance("1", 1, 2.0), clearance("2", -1, 4.0)], Car(name="x", gate=None))
    assert enough.verdict == "leave" and enough.setting.engage_mm == pytest.approx(-1.0, abs=1e-3)


def test_room_across_the_gate_sets_the_select_cable() -> None:
    gears = [clearance("1", 1, 3.0, left_mm=0.4, right_mm=1.6), clearance("2", -1, 3.0)]
    assert advise(gears, Car(name="x", gate=None)).setting.select_mm == pytest.approx(0.6, abs=1e-3)


def test_a_stop_that_gives_with_force_is_not_the_gates(tmp_path: Path) -> None:
    test = MadeTest(seed=77, presses=6, soft={"4": 2.5})
    advice = advise_cables([load_drive(test.write(tmp_path / "soft"))])
    assert advice.not_a_gate_stop == ("4",) and "4" not in advice.expected
    drive = load_drive(tmp_path / "soft")
    gate = fit_gate_map(drive.signals, drive.car)
    path = trace_lever(drive, gate)
    newton = 40 + 20 * np.abs(path.engage_mm)
    force = Trace(
        time_s=path.time_s.copy(), values=newton, spans=((0.0, float(path.time_s[-1])),), rate_hz=path.rate_hz,
        recording="lever", place="lever",
    )  # fmt: skip
    found = measure_clearances(path, gate, drive.tests, force, drive.car)
    assert next(c for c in found if c.gear == "4").gives_mm_per_n is not None


def test_a_lever_that_leans_on_its_stop_has_no_room(tmp_path: Path) -> None:
    test = MadeTest(seed=5, clearances={"2": 0.0})
    advice = advise_cables([load_drive(test.write(tmp_path / "leans"))])
    leaning = next(c for c in advice.clearances if c.gear == "2")
    assert (leaning.clearance_mm, leaning.presses) == (0.0, 0)


def test_without_a_marked_test_it_says_what_to_do(tmp_path: Path) -> None:
    folder = MadeTest(seed=5).write(tmp_path / "bare")
    text = (folder / "drive.toml").read_text(encoding="utf-8")
    (folder / "drive.toml").write_text(text[: text.index("[[test]]")], encoding="utf-8")
    with pytest.raises(CannotMeasure, match="mark the span"):
        advise_cables([load_drive(folder)])


def test_the_command_writes_the_document_and_says_it_in_words(tmp_path: Path, capsys) -> None:
    folder = MadeTest(seed=9, wanted=0.5).write(tmp_path / "test")
    assert main(["cables", str(folder), "--json", str(tmp_path / "answer.json")]) == 0
    said = capsys.readouterr().out
    assert "clearance mm" in said and "no diagnosis" in said
    answer = json.loads((tmp_path / "answer.json").read_text(encoding="utf-8"))
    assert {"format", "car", "clearances", "setting", "expected", "binding", "missing_mm", "turn_table",
            "not_a_gate_stop", "verdict", "why"} <= set(answer)  # fmt: skip
    assert {"engage_mm", "select_mm", "engage_turns", "select_turns", "sd_engage_mm"} <= set(answer["setting"])
    assert answer["verdict"] in ("adjust", "leave", "not_by_adjustment")
    assert {"gear", "clearance_mm", "sd_mm", "presses", "wanted_mm"} <= set(answer["clearances"][0])
    assert {"engage_turns", "select_turns", "smallest_mm"} <= set(answer["turn_table"][0])


def test_the_command_without_a_test_is_one_line_and_code_2(tmp_path: Path, capsys) -> None:
    folder = MadeTest(seed=5).write(tmp_path / "bare")
    text = (folder / "drive.toml").read_text(encoding="utf-8")
    (folder / "drive.toml").write_text(text[: text.index("[[test]]")], encoding="utf-8")
    assert main(["cables", str(folder)]) == 2
    assert len(capsys.readouterr().err.strip().splitlines()) == 1
