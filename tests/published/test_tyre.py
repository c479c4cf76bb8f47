"""Tyre sizes against published geometry (reference values, section 6)."""

import csv
from pathlib import Path

import pytest

from shiftlog.ingest.tyre import free_diameter_m, rolling_radius_m


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
