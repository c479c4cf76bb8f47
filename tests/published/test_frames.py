"""The binary frames' checksum, byte stuffing and scales against published tables (reference values, sections 8, 11)."""

import binascii
import csv
import importlib
import random
from pathlib import Path

import pytest

from shiftlog.ingest.formats.cobs import decode_cobs
from shiftlog.ingest.formats.frame_records import has_right_crc
from shiftlog.ingest.formats.frames import read_frames
from tests.ingest.frame_writer import FrameWriter, crc16


def test_every_cobs_vector(reference_tables: Path) -> None:
    # Cheshire and Baker 1999 and public test suites; exact.
    rows = list(csv.DictReader((reference_tables / "cobs_vectors.csv").open()))
    assert len(rows) == 13
    for row in rows:
        assert decode_cobs(bytes.fromhex(row["cobs_hex_without_delimiter"])) == bytes.fromhex(row["raw_hex"])


def test_an_empty_run_behind_a_full_one_is_accepted() -> None:
    # One public encoder writes it (reference values, section 8); it stands for nothing.
    full = bytes(range(1, 255))
    assert decode_cobs(b"\xff" + full + b"\x01") == full


def test_it_decodes_what_another_encoder_writes() -> None:
    try:
        other = importlib.import_module("cobs.cobs")
    except ImportError:
        pytest.skip("the package cobs is not installed; pip install cobs")
    chance = random.Random(8)
    for length in [*range(12), *range(250, 260), 508, 509, 1000]:
        for zeros in (0.0, 0.02, 0.5, 1.0):
            raw = bytes(0 if chance.random() < zeros else chance.randint(1, 255) for _ in range(length))
            assert decode_cobs(other.encode(raw)) == raw


def test_the_checksum_is_the_one_of_the_catalogue(reference_tables: Path) -> None:
    rows = {row["name"].split()[0]: row for row in csv.DictReader((reference_tables / "crc_check.csv").open())}
    # RevEng catalogue of parametrised CRC algorithms; exact.
    check = int(rows["CRC-16/IBM-3740"]["check_123456789"], 16)
    assert check == 0x29B1 == binascii.crc_hqx(b"123456789", 0xFFFF) == crc16(b"123456789")
    assert has_right_crc(b"123456789" + check.to_bytes(2, "little"))
    assert not has_right_crc(b"123456780" + check.to_bytes(2, "little"))
    others = {int(row["check_123456789"], 16) for row in rows.values() if row["width"] == "16"} - {check}
    assert not any(has_right_crc(b"123456789" + other.to_bytes(2, "little")) for other in others)


def test_counts_become_the_data_sheets_values(tmp_path: Path) -> None:
    # ISM330DLC application note AN5125, table 23 (as quoted at community.st.com): bytes 69h 16h at ±2 g are
    # 1669h = 5737 counts of 0.061 mg, 349.957 mg; at 250 deg/s a count is 8.75 mdps, and not 250/32768. Exact
    # products of decimal numbers: a double's own rounding is the only error.
    channels = (("accel_x", "mg", 0, 61, -3, 0, 0), ("gyro_x", "deg/s", 0, 875, -5, 0, 0))
    writer = FrameWriter(channels=channels)
    writer.header()
    counts = int.from_bytes(bytes([0x69, 0x16]), "little", signed=True)
    assert counts == 5737
    writer.even(0, 1000, [(counts, 1000), (-counts, -32768)])
    (tmp_path / "imu.frames").write_bytes(writer.data)
    table = read_frames(tmp_path / "imu.frames", file="imu.frames")
    assert table.values[:, 0] == pytest.approx([349.957, -349.957], rel=1e-12)
    assert table.values[:, 1] == pytest.approx([8.75, -286.72], rel=1e-12)
