"""car.toml to Car and back, and what is wrong in it."""

from pathlib import Path

import pytest

from shiftlog.errors import ProfileError
from shiftlog.ingest.car_file import read_car, read_car_file, write_car
from shiftlog.model.car import Car

WHOLE = """
format = 1
[car]
name = "Hill-climb coupe, five-speed"
redline_rpm = 7400
[gearbox]
final_drive = { "1" = 3.45, default = 2.76 }
ratios = { "1" = 3.2, "2" = 1.95, "3" = 1.4, "4" = 1.05, "5" = 0.85, "R" = 3.1 }
dog_teeth = { "1" = 36 }
hub = "output"
reverse_synchronised = false
[tyre]
size = "205/50R15"
[gate]
planes = [ { forward = "1", rear = "2" }, { forward = "3", rear = "4" }, { forward = "5", rear = "R" } ]
home = "3-4"
lockout = "lift"
plane_pitch_mm = 25
engage_travel_mm = 30
travel_at = "knob"
mm_per_unit = { select = 0.088, engage = 0.09 }
[limits]
shift_time_s = 0.45
clearance_mm = { "1" = 1.2, default = 1.5 }
[cables]
end = "turn"
engage_mm_per_turn = 1.25
select_mm_per_turn = 1.25
engage_range_mm = [-4, 4]
select_range_mm = [-4, 4]
"""

GATE = """
[gate]
planes = [ { forward = "1", rear = "2" }, { forward = "3", rear = "4" }, { forward = "5", rear = "R" } ]
"""


def car_of(folder: Path, text: str) -> Car:
    path = folder / "car.toml"
    path.write_text(text, encoding="utf-8")
    return read_car(path)


def test_a_whole_profile(tmp_path) -> None:
    car = car_of(tmp_path, WHOLE)
    assert car.redline_rpm == 7400
    assert car.final_drive == {"1": 3.45, "2": 2.76, "3": 2.76, "4": 2.76, "5": 2.76, "R": 2.76}
    assert car.hub["R"] == "output"
    assert car.gate.home == "3-4"
    assert car.gate.position_mm("1") == (-25.0, 15.0)
    assert car.gate.mm_per_unit == {"select": 0.088, "engage": 0.09}
    assert car.limits["clearance_mm"] == {"1": 1.2, "2": 1.5, "3": 1.5, "4": 1.5, "5": 1.5, "R": 1.5}
    assert car.cables["engage_range_mm"] == [-4, 4]
    # 586.0 mm outside (nominal geometry: 15 in + 2 x 102.5 mm); x 3.05 / 2 pi, the factor from memory.
    assert car.rolling_radius_m == pytest.approx(0.586 * 3.05 / 6.283185307, rel=1e-9)


def test_a_gate_alone_is_enough(tmp_path) -> None:
    car = car_of(tmp_path, '[car]\nname = "x"' + GATE)
    assert car.gate.gears == ("1", "2", "3", "4", "5", "R")
    assert car.gate.home is None
    assert car.rpm_per_mps("3") is None


def test_no_gate_is_enough_where_there_is_no_lever(tmp_path) -> None:
    car = car_of(
        tmp_path,
        '[car]\nname = "x"\n[gearbox]\nfinal_drive = 4\nratios = {"1" = 3, "2" = 2}\n[tyre]\nrolling_radius_m = 0.3',
    )
    assert car.gate is None
    assert car.final_drive == {"1": 4, "2": 4}
    # n = v / (2 pi r) * i * i_final * 60.
    assert car.rpm_per_mps("1") == pytest.approx(12 * 60 / (2 * 3.141592653589793 * 0.3))


def test_learnt_ratios_are_rpm_for_each_km_h(tmp_path) -> None:
    text = '[car]\nname = "x"' + GATE + '[gearbox.learnt_rpm_per_kmh]\n"2" = 75.3'
    assert car_of(tmp_path, text).rpm_per_mps("2") == pytest.approx(75.3 * 3.6)


def test_a_measured_radius_goes_before_the_size(tmp_path) -> None:
    car = car_of(tmp_path, '[car]\nname = "x"\n[tyre]\nsize = "205/50R15"\nrolling_radius_m = 0.28')
    assert car.rolling_radius_m == 0.28


@pytest.mark.parametrize("text", [WHOLE, '[car]\nname = "a \\"b\\" ü"' + GATE, '[car]\nname = "bare"'])
def test_what_is_written_reads_back_alike(tmp_path, text: str) -> None:
    car = car_of(tmp_path, text)
    write_car(car, tmp_path / "again.toml")
    again = read_car(tmp_path / "again.toml")
    for name in ("name", "redline_rpm", "ratios", "final_drive", "hub", "limits", "cables", "dog_teeth"):
        assert getattr(again, name) == getattr(car, name)
    assert again.rolling_radius_m == pytest.approx(car.rolling_radius_m, abs=1e-5) or car.rolling_radius_m is None
    if car.gate is not None:
        assert again.gate.gears == car.gate.gears
        assert (again.gate.home, again.gate.lockout) == (car.gate.home, car.gate.lockout)
        assert again.gate.mm_per_unit == car.gate.mm_per_unit


def test_learnt_ratios_are_written_too(tmp_path) -> None:
    write_car(Car(name="x", gate=None, learnt_rpm_per_mps={"1": 442.44}), tmp_path / "car.toml")
    assert read_car(tmp_path / "car.toml").learnt_rpm_per_mps == {"1": pytest.approx(442.44, rel=1e-4)}


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "car is missing"),
        ("[car]\n", "car.name is missing"),
        ('[car]\nname = "x"\nredline_rpm = "fast"', "car.redline_rpm: input should be a valid number, got 'fast'"),
        ('[car]\nname = "x"\nredline_rpm = -1', "car.redline_rpm: input should be greater than 0"),
        ('format = 2\n[car]\nname = "x"', "format: input should be 1, got 2"),
        ("[car\n", "is no valid TOML"),
        ('[car]\nname="x"\n[gate]\nplanes=[{forward="1",rear="2"},{forward="1"}]', 'gear "1" is there twice'),
        (
            '[car]\nname="x"\n[gate]\nplanes=[{forward="1",rear="2"}]\nhome="3-4"',
            'gate.home: "3-4" is none of the planes',
        ),
        ('[car]\nname="x"\n[gate]\nplanes=[{forward="1"}]', "a gate has at least two gears"),
        ('[car]\nname="x"\n[gate]\nplanes=[{forward="1",rear="2"},{}]', "gate.planes[2]: has neither forward nor rear"),
        ('[car]\nname="x"\n[gate]\nplanes=[{forward="1",rear="9"}]', '"9" is no gear; gears are 1, 2, 3'),
        (
            '[car]\nname="x"\n[gate]\nplanes=[{forward=1,rear="2"}]',
            "gate.planes[1].forward: input should be a valid string",
        ),
        ('[car]\nname="x"' + GATE + '[gearbox]\nratios={"6"=0.7}', 'gearbox.ratios."6": the gate lacks this gear'),
        ('[car]\nname="x"\n[gearbox]\nratios={"1"=2.0,"2"=3.0}', '"2" (3) must be smaller than "1" (2)'),
        ('[car]\nname="x"\n[tyre]\nsize="big"', 'tyre.size: "big" is no tyre size; write it as "205/50R15"'),
        ('[car]\nname="x"\n[tyre]\nrolling_radius_m=29.1', "tyre.rolling_radius_m: input should be less than 1"),
    ],
)
def test_what_is_wrong_is_said_in_one_line(tmp_path, text: str, message: str) -> None:
    with pytest.raises(ProfileError) as error:
        car_of(tmp_path, text)
    assert str(error.value).startswith("car.toml: ")
    assert message in str(error.value)
    assert "\n" not in str(error.value)


def test_all_faults_stand_in_the_one_line(tmp_path) -> None:
    with pytest.raises(ProfileError) as error:
        car_of(tmp_path, '[car]\nredline_rpm = "x"\n[tyre]\nrolling_radius_m = 5')
    for key in ("car.name", "car.redline_rpm", "tyre.rolling_radius_m"):
        assert key in str(error.value)


def test_unknown_keys_are_pointed_out_and_do_no_harm(tmp_path) -> None:
    path = tmp_path / "car.toml"
    path.write_text(
        '[car]\nname = "x"\ncolour = "red"\n[gearbox]\nfinal_drve = 4.1\n[gate]\nplanes=[{forward="1",rear="2",x=1}]'
    )
    read = read_car_file(path)
    assert read.notes == ("car.toml: not known and left out: car.colour, gearbox.final_drve, gate.planes[1].x.",)


def test_a_profile_that_is_not_there(tmp_path) -> None:
    with pytest.raises(ProfileError, match=r"gone.toml: there is no such file; name a"):
        read_car(tmp_path / "gone.toml")


@pytest.mark.parametrize(
    ("was", "now", "words"),
    [
        ("engage_range_mm = [-4, 4]", "engage_range_mm = [4, -4]", ("cables.engage_range_mm", "[4, -4]", "as [-4, 4]")),
        ("select_range_mm = [-4, 4]", "select_range_mm = [1, 4]", ("cables.select_range_mm", "[1, 4]")),
        ("engage_range_mm = [-4, 4]", "engage_range_mm = [nan, inf]", ("cables.engage_range_mm", "finite", "nan")),
        ("engage_mm_per_turn = 1.25", "engage_mm_per_turn = 1e-9", ("cables.engage_mm_per_turn", "0.05")),
        ("select_mm_per_turn = 1.25", "select_mm_per_turn = 400", ("cables.select_mm_per_turn", "20")),
        ("default = 1.5 }", "default = nan }", ("limits.clearance_mm", "finite", "nan")),
        ("default = 1.5 }", "default = -3 }", ("limits.clearance_mm", "-3", "0 to 15 mm")),
        ("default = 1.5 }", "default = 500 }", ("limits.clearance_mm", "500", "gate.engage_travel_mm")),
        ('{ "1" = 1.2, default', '{ "9" = 1.2, default', ('limits.clearance_mm."9"', "the gate lacks this gear")),
        ("shift_time_s = 0.45", "shift_time_s = inf", ("limits.shift_time_s", "finite", "inf")),
    ],
)
def test_a_value_that_no_adjuster_and_no_gate_can_have(tmp_path, was: str, now: str, words: tuple[str, ...]) -> None:
    assert was in WHOLE
    with pytest.raises(ProfileError) as refused:
        car_of(tmp_path, WHOLE.replace(was, now))
    said = str(refused.value)
    assert "\n" not in said and [word for word in words if word not in said] == []


def test_a_cable_at_one_end_of_its_adjuster_can_still_go_the_other_way(tmp_path) -> None:
    car = car_of(tmp_path, WHOLE.replace("engage_range_mm = [-4, 4]", "engage_range_mm = [0, 4]"))
    assert car.cables["engage_range_mm"] == [0, 4]
