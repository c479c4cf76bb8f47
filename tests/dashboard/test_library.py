"""The door to the workshop: windows, measuring, profiles, and errors in one line."""

import json
import sqlite3
from dataclasses import replace

import numpy as np
import pytest

from dashboard.answers import FIRM
from dashboard.app import page
from dashboard.library import Library
from dashboard.parts.drive_list import drive_place
from dashboard.routes import DRIVES, Query
from shiftlog.errors import ProfileError, StoreError
from shiftlog.store.profiles import kept_profile
from shiftlog.store.workshop import Workshop


def test_a_window_is_made_once_and_shows_more_when_closer(measured_workshop):
    library, drive_ids = measured_workshop
    whole = library.window(drive_ids["before"], None, points=200)
    assert library.window(drive_ids["before"], None, points=200) is whole
    close = library.window(drive_ids["before"], (10.0, 10.5), points=200)
    lever = close.lines[0]
    assert np.median(np.diff(lever.time_s)) == pytest.approx(1 / 250, rel=0.1)
    assert np.median(np.diff(whole.lines[0].time_s)) > 0.1


def test_the_path_of_a_shift_is_part_of_the_path_of_the_drive(measured_workshop):
    library, drive_ids = measured_workshop
    shift = next(s for s in library.result(drive_ids["before"]).shifts if s.end_s is not None)
    path = library.path(drive_ids["before"], (shift.start_s, shift.end_s))
    whole = library.path(drive_ids["before"])
    assert path.shape[0] == pytest.approx((shift.end_s - shift.start_s) * 250, abs=3)
    assert np.nanmin(whole[:, 1]) - 1 <= path[:, 1].min() and path[:, 1].max() <= np.nanmax(whole[:, 1]) + 1


def test_comparing_needs_measured_drives(measured_workshop):
    library, drive_ids = measured_workshop
    comparison = library.compare((drive_ids["before"],), (drive_ids["after"],))
    assert comparison.rows and not any(r.verdict in FIRM and not r.provisional for r in comparison.rows)
    with pytest.raises(StoreError, match="^nothing-like-it: no drive of this workshop"):
        library.compare(("nothing-like-it",), (drive_ids["after"],))
    with pytest.raises(StoreError, match="^no-such: no drive of this workshop"):
        library.compare(("no-such",), (drive_ids["after"],))


@pytest.mark.parametrize("folder", ["", "   ", "/no/such/folder"])
def test_a_folder_that_is_none_is_named(empty_library, folder):
    with pytest.raises(StoreError, match="is no folder on this machine"):
        empty_library.add(folder)


def test_ratios_are_learnt_over_the_drives_of_a_car(measured_workshop):
    library, drive_ids = measured_workshop
    car = library.load(drive_ids["before"]).drive.car
    learnt = library.learnt(car.name)
    assert {"1", "2", "3"} <= set(learnt)
    for gear, value in learnt.items():
        assert value == pytest.approx(car.rpm_per_mps(gear), rel=0.01), gear
    assert library.learnt("another car") == {} and library.learnt(None) == {}


def test_a_saved_profile_is_what_drives_are_measured_with(tmp_path, drive_folders):
    library = Library(Workshop.open(tmp_path))
    drive_id = library.copy_in(drive_folders["before"])
    library.measure(drive_id)
    car = replace(library.load(drive_id).drive.car, redline_rpm=3210.0)
    path = library.save_car(car)
    assert path.is_file() and library.car(car.name).redline_rpm == 3210.0
    library.measure(drive_id)
    assert library.drive_car(drive_id).redline_rpm == 3210.0
    assert any(s.value("over_rev") for s in library.result(drive_id).shifts)


def test_a_wrong_profile_is_not_saved(empty_library, car):
    twice = replace(car, gate=replace(car.gate, planes=(*car.gate.planes, car.gate.planes[0])))
    with pytest.raises(ProfileError, match="twice"):
        empty_library.save_car(twice)
    assert not kept_profile(empty_library.root, car.name).exists()


def test_names_that_look_alike_have_files_of_their_own(empty_library):
    assert kept_profile(empty_library.root, "Coupé 2") != kept_profile(empty_library.root, "Coup 2")
    assert empty_library.root in kept_profile(empty_library.root, "../../etc").parents


def test_a_result_of_another_version_leaves_every_page_standing_and_asks_to_be_measured_again(tmp_path, drive_folders):
    library = Library(Workshop.open(tmp_path))
    drive_id = library.copy_in(drive_folders["before"])
    library.measure(drive_id)
    with sqlite3.connect(tmp_path / "workshop.sqlite") as db:
        [[text]] = db.execute("SELECT document FROM result").fetchall()
        older = json.loads(text)
        older["shifts"][0]["neutral_time_s"], older["shifts"][0]["unmeasured"] = None, {}
        row = ("older", drive_id, "0.0.9", "2026-01-01", json.dumps(older))
        db.execute("INSERT INTO result VALUES (?, ?, ?, ?, ?)", row)
        db.execute("UPDATE drive SET shown = 'older'")
    library = Library(Workshop.open(tmp_path))
    entry = library.entry(drive_id)
    assert library.result(drive_id) is None
    home = str(page(DRIVES, Query(), library))
    assert entry.name in home and "1 drive of 1 car, 1 of them to be measured again" in home
    assert "all measured" not in home and "not measured yet" not in home and "Compare as" not in home
    asked = str(page(drive_place(entry), Query(), library))
    assert "written by another version" in asked and "Measure this drive" in asked
    library.measure(drive_id)
    assert library.result(drive_id) is not None and library.why_unread(drive_id) is None
    assert "1 drive of 1 car, all measured." in str(page(DRIVES, Query(), library))
