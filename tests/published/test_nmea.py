"""NMEA 0183 sentences against published ones (reference values, section 7)."""

import csv
from pathlib import Path

import pytest

from shiftlog.ingest.formats.nmea_sentence import SENTENCE, checksum, has_right_checksum, parse_sentence
from shiftlog.units import MPS_PER_KNOT


def test_every_published_sentence(reference_tables: Path) -> None:
    rows = list(csv.DictReader((reference_tables / "nmea_vectors.csv").open()))
    assert len(rows) == 9
    for row in rows:
        found = SENTENCE.fullmatch(row["sentence"])
        assert has_right_checksum(found) and f"{checksum(row['sentence'][1:-3]):02X}" == row["checksum"]
        speed = parse_sentence(found).speed_kn
        if not row["speed_kn"]:
            assert speed is None
            continue
        # Exact in knots; 1 kn = 1852 / 3600 m/s exactly, which the table rounds to 1e-6.
        assert speed == float(row["speed_kn"])
        assert speed * MPS_PER_KNOT == pytest.approx(float(row["speed_m_s"]), abs=1e-6)


def test_place_and_time_of_the_common_example() -> None:
    # Reference values, section 7: 48° 07.038′ N, 11° 31.000′ E, 12:35:19 on 23 March 1994; exact.
    fix = parse_sentence(SENTENCE.match("$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A"))
    assert fix.latitude == pytest.approx(48 + 7.038 / 60) and fix.longitude == pytest.approx(11 + 31 / 60)
    assert fix.day_s == 12 * 3600 + 35 * 60 + 19 and fix.date_s == 764380800


def test_a_void_fix_gives_nothing() -> None:
    fix = parse_sentence(SENTENCE.match("$GPRMC,,V,,,,,,,,,,N*53"))
    assert fix.void and (fix.speed_kn, fix.latitude, fix.longitude, fix.day_s) == (None, None, None, None)
