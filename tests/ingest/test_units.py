"""Units of log headers and what they become inside."""

import math

import pytest

from shiftlog.errors import LogError
from shiftlog.ingest.units import KNOWN, find_unit, plain_unit, unit_for


@pytest.mark.parametrize(
    ("text", "quantity", "logged", "inside"),
    [
        ("ms", "time", 250.0, 0.25),
        ("µs", "time", 250.0, 0.00025),
        ("ns", "time", 5e8, 0.5),
        # Standard gravity, exact (3rd CGPM, 1901).
        ("g", "acceleration", 1.0, 9.80665),
        ("mg", "acceleration", 1000.0, 9.80665),
        ("m/s²", "acceleration", 2.0, 2.0),
        ("deg/s", "angular rate", 180.0, math.pi),
        ("dps", "angular rate", 90.0, math.pi / 2),
        ("RPM", "engine speed", 3000.0, 3000.0),
        ("rad/s", "engine speed", 2 * math.pi, 60.0),
        ("Hz", "engine speed", 50.0, 3000.0),
        ("km/h", "speed", 36.0, 10.0),
        # International mile of 1959 and nautical mile, exact.
        ("mph", "speed", 1.0, 0.44704),
        ("kn", "speed", 1.0, 1852 / 3600),
        ("°C", "temperature", 21.0, 21.0),
        ("degF", "temperature", 212.0, 100.0),
        ("K", "temperature", 273.15, 0.0),
        ("%", "share", 50.0, 0.5),
    ],
)
def test_a_unit_becomes_the_one_inside(text: str, quantity: str, logged: float, inside: float) -> None:
    unit = find_unit(text, (quantity,))
    assert unit is not None
    # Tolerance: rounding of double precision alone.
    assert unit.factor * logged + unit.offset == pytest.approx(inside, rel=1e-12, abs=1e-9)


@pytest.mark.parametrize("text", ["Â°C", "°c", "deg C", "degC", "Celsius"])
def test_a_degree_sign_is_read_however_it_came(text: str) -> None:
    assert plain_unit(text) == "degC"


def test_every_known_unit_is_found_under_its_own_name() -> None:
    assert [plain_unit(name) for name in KNOWN] == list(KNOWN)


def test_an_unknown_unit_lists_the_known() -> None:
    with pytest.raises(LogError, match=r'lever.csv, column t: unit "furlong" is not known; known are s ms us'):
        unit_for("furlong", ("speed",), where="lever.csv, column t")


def test_a_unit_of_another_quantity_is_refused() -> None:
    with pytest.raises(LogError, match=r'"km/h" does not fit this channel; it takes rpm rad/s Hz'):
        unit_for("km/h", ("engine speed",), where="x")
