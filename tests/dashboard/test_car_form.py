"""The form of a profile: typed texts to a car, and a car to the form, with nothing lost on the way."""

import pytest

from dashboard.car_form import LAYOUTS, CarForm, car_to_form, form_to_car, plane_names, ratio_differences, read_fields
from shiftlog.errors import ProfileError
from shiftlog.ingest.car_file import read_car, write_car

FIELDS = {
    "name": "Test coupe",
    "planes": (("1", "2"), ("3", "4"), ("5", "R")),
    "home": "3-4",
    "redline": "7400",
    "final": "4,1",
    "ratios": {"1": "3.2", "2": " 1,95 ", "3": ""},
    "tyre": "205/50R15",
    "radius": "",
}


def test_a_decimal_comma_is_a_decimal_point_and_an_empty_field_is_not_known():
    form = read_fields(FIELDS)
    assert form.final_drive == 4.1 and form.ratios == {"1": 3.2, "2": 1.95} and form.radius_m is None


@pytest.mark.parametrize(
    ("field", "text", "named"),
    [
        ("redline", "fast", "redline"),
        ("final", "-4", "final drive"),
        ("radius", "0", "rolling radius"),
        ("redline", "inf", "redline"),
    ],
)
def test_what_is_no_number_is_named(field, text, named):
    with pytest.raises(ProfileError, match=named):
        read_fields(FIELDS | {field: text})


def test_a_ratio_that_is_no_number_names_its_gear():
    with pytest.raises(ProfileError, match="ratio of 2"):
        read_fields(FIELDS | {"ratios": {"2": "1.9.5"}})


def test_the_form_makes_a_car():
    car = form_to_car(read_fields(FIELDS))
    assert car.gate.gears == ("1", "2", "3", "4", "5", "R") and car.gate.home == "3-4"
    assert set(car.final_drive.values()) == {4.1} and set(car.final_drive) == set(car.gate.gears)
    # 15 in · 25.4 + 2 · 205 · 0.5 = 586 mm; 3.05 · 0.586 / 2π = 0.2845 m (3.05 from memory, see the tyre's own test).
    assert car.rolling_radius_m == pytest.approx(0.2845, abs=5e-5)


@pytest.mark.parametrize("different", [{"name": "  "}, {"tyre": "large"}])
def test_a_form_that_makes_no_car_says_why(different):
    with pytest.raises(ProfileError):
        form_to_car(read_fields(FIELDS | different))


def test_what_the_form_has_no_field_for_stays(car):
    changed = form_to_car(car_to_form(car), base=car)
    assert changed.limits == car.limits and changed.gate.lockout == "lift"
    assert changed.ratios == car.ratios and changed.final_drive == car.final_drive
    assert changed.rolling_radius_m == car.rolling_radius_m and changed.redline_rpm == car.redline_rpm


def test_a_final_drive_for_each_gear_stays_when_its_field_is_empty(car):
    several = form_to_car(car_to_form(car), base=car)
    table = {"1": 3.45, "2": 3.45, "3": 2.76}
    base = type(car)(name=car.name, gate=car.gate, final_drive=table)
    assert form_to_car(car_to_form(base), base=base).final_drive == table
    assert several.final_drive["1"] == 4.1


@pytest.mark.parametrize("name", LAYOUTS)
def test_every_common_layout_is_a_profile_that_reads_back(name, tmp_path):
    planes = LAYOUTS[name]
    path = tmp_path / "car.toml"
    write_car(form_to_car(CarForm(name="x", planes=planes, home=plane_names(planes)[1])), path)
    forward = sorted(g for g in read_car(path).gate.gears if g != "R")
    assert forward == [str(n) for n in range(1, len(forward) + 1)] and str(len(forward)) == name[0]


def test_ratios_that_do_not_fit_are_pointed_out_with_their_share(car):
    right = car.rpm_per_mps("2")
    found = ratio_differences(car, {"2": right * 1.05, "5": 30.0})
    assert found == {"2": pytest.approx(0.05)}
