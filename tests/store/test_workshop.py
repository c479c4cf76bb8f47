"""The workshop folder: drives copied once, results written once and never edited, readable while written."""

import shutil
import sqlite3
import subprocess
import sys

import numpy as np
import pytest

from shiftlog.errors import StoreError
from shiftlog.model.drive import DriveHead
from shiftlog.model.result import DriveResult, Summary
from shiftlog.store.cache import ArrayCache
from shiftlog.store.workshop import Workshop

DRIVE = """format = 1
[drive]
id = "warm-1"
stage = "before"
[car]
profile = "../car.toml"
[[recording]]
name = "lever"
file = "lever.csv"
place = "lever"
"""
CAR = """format = 1
[car]
name = "Test car"
[gate]
planes = [ { forward = "1", rear = "2" }, { forward = "3", rear = "4" } ]
"""


@pytest.fixture
def folder(tmp_path):
    made = tmp_path / "given" / "warm-1"
    made.mkdir(parents=True)
    (made.parent / "car.toml").write_text(CAR)
    (made / "drive.toml").write_text(DRIVE)
    (made / "lever.csv").write_text("time [s],select [count],engage [count]\n0,1,2\n0.01,2,3\n")
    return made


@pytest.fixture
def workshop(tmp_path):
    return Workshop.open(tmp_path / "workshop")


def a_result(notes=()):
    return DriveResult(
        head=DriveHead(id="warm-1"), car="Test car", version="0", settings={}, inputs=(), clock_recording="lever",
        clock_zero_s=0.0, recordings=(), left_out=(), gate=None, gate_why="no lever", shifts=(), rests=(), rejected=(),
        summary=Summary(), notes=tuple(notes),
    )  # fmt: skip


def test_a_drive_is_copied_as_given_and_listed(workshop, folder):
    drive_id = workshop.add_drive(folder)
    entry = workshop.drive(drive_id)
    assert (entry.name, entry.stage, entry.car, entry.measured) == ("warm-1", "before", "Test car", False)
    for name in ("drive.toml", "lever.csv", "../car.toml"):
        assert (entry.folder / name).read_bytes() == (folder / name).read_bytes()
    assert [c.name for c in workshop.cars()] == ["Test car"]


def test_the_same_logs_are_the_same_drive(workshop, folder, tmp_path):
    first = workshop.add_drive(folder)
    shutil.copytree(folder.parent, tmp_path / "elsewhere")
    assert workshop.add_drive(tmp_path / "elsewhere" / "warm-1") == first
    assert len(workshop.drives()) == 1


def test_a_result_comes_back_and_the_newest_is_shown(workshop, folder):
    drive_id = workshop.add_drive(folder)
    assert workshop.result(drive_id) is None
    first = workshop.save_result(drive_id, a_result())
    assert workshop.save_result(drive_id, a_result()) == first
    second = workshop.save_result(drive_id, a_result(notes=["profile changed"]))
    assert second != first
    assert workshop.result(drive_id).notes == ("profile changed",)


@pytest.mark.parametrize("statement", ["UPDATE result SET document = ''", "DELETE FROM result"])
def test_a_result_can_be_neither_edited_nor_removed(workshop, folder, statement):
    workshop.save_result(workshop.add_drive(folder), a_result())
    with sqlite3.connect(workshop.root / "workshop.sqlite") as db, pytest.raises(sqlite3.IntegrityError, match="never"):
        db.execute(statement)


def test_another_process_reads_while_one_writes(workshop, folder):
    drive_id = workshop.add_drive(folder)
    with sqlite3.connect(workshop.root / "workshop.sqlite") as db:
        db.execute("BEGIN IMMEDIATE")
        script = (
            "import sys; from pathlib import Path; from shiftlog.store.workshop import Workshop; "
            "print(Workshop.open(Path(sys.argv[1]), create=False).drives()[0].id)"
        )
        seen = subprocess.run(
            [sys.executable, "-c", script, str(workshop.root)], capture_output=True, text=True, timeout=60
        )
        db.rollback()
    assert seen.stdout.strip() == drive_id, seen.stderr


def test_what_is_no_workshop_is_said(tmp_path, workshop):
    with pytest.raises(StoreError, match="is no workshop"):
        Workshop.open(tmp_path / "nothing", create=False)
    with pytest.raises(StoreError, match="is not in the workshop"):
        workshop.drive("nobody")
    (tmp_path / "broken").mkdir()
    (tmp_path / "broken" / "workshop.sqlite").write_bytes(b"this is no database" * 100)
    with pytest.raises(StoreError, match="cannot be opened as a workshop"):
        Workshop.open(tmp_path / "broken")


def test_cached_arrays_may_be_deleted_or_damaged_at_any_time(tmp_path):
    cache = ArrayCache(tmp_path)
    made = []

    def make():
        made.append(1)
        return np.arange(10, dtype=np.float32)

    for _ in range(2):
        assert np.array_equal(cache.get("key", make), np.arange(10))
    assert len(made) == 1
    for file in tmp_path.glob("*.npy"):
        file.write_bytes(b"rubbish")
    assert np.array_equal(cache.get("key", make), np.arange(10))
    for file in tmp_path.glob("*.npy"):
        file.unlink()
    assert np.array_equal(cache.get("key", make), np.arange(10))
    assert len(made) == 3
