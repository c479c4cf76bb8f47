"""Tyre sizes against published geometry (reference values, section 6)."""

import csv
from pathlib import Path

import pytest

from shiftlog.ingest.tyre import free_diameter_m, rolling_radius_m
from shiftlog.model.car import Car


@pytest.mark.parametrize(
    ("size", "diameter_mm"),
    [
        # mvwautotechniek.nl prints 631.9 mm, onlycalculators.com 634.3 mm; tolerance is their last digit.
        ("205/55R16", 631.9),
        ("225/45R17", 634.3),
    ],
)
def test_outer_diameter_is_the_published_one(size: str, diameter_mm: float) -> None:
    assert free_diameter_m(size) * 1000 == pytest.approx(diameter_mm, abs=0.05)


def test_rolling_radius_of_every_size_in_the_table(reference_tables: Path) -> None:
    rows = list(csv.DictReader((reference_tables / "tyre_geometry.csv").open()))
    assert len(rows) == 8
    for row in rows:
        # The factor 3.05 is from memory, the geometry is published; tolerance: last printed digit.
        assert rolling_radius_m(row["size"]) * 1000 == pytest.approx(float(row["r_dyn_mm"]), abs=0.006)


@pytest.mark.parametrize("text", ["P205/50ZR15 89V", "205/50 R 15", " 205/50R15 "])
def test_sidewall_spellings_mean_the_same(text: str) -> None:
    assert rolling_radius_m(text) == pytest.approx(rolling_radius_m("205/50R15"))


@pytest.mark.parametrize(
    ("mph", "overall", "diameter_in", "rpm_336"),
    [
        # calchorsepower.com: 70 mph, 3.55, 26 in, printed 3211; interconverter.com: 3.73, 28 in, printed 3133;
        # axletally gear calculator: 3.42 x 0.70, 28 in, printed 2011.
        (70.0, 3.55, 26.0, 3211.0),
        (70.0, 3.73, 28.0, 3133.0),
        (70.0, 3.42 * 0.70, 28.0, 2011.0),
    ],
)
def test_engine_speed_of_published_examples(mph: float, overall: float, diameter_in: float, rpm_336: float) -> None:
    car = Car(
        name="example",
        gate=None,
        ratios={"1": overall},
        final_drive={"1": 1.0},
        rolling_radius_m=diameter_in * 0.0254 / 2,
    )
    rpm = car.rpm_per_mps("1") * mph * 0.44704
    # The pages use the constant 336 where 63360 / (60 pi) = 336.135 is exact; 0.5 rpm is their rounding.
    assert rpm * 336 / 336.1352 == pytest.approx(rpm_336, abs=0.5)
