"""Marks that devices left: the newest is given, an empty text takes a device's away, odd names are refused."""

import os

import pytest

from shiftlog.errors import StoreError
from shiftlog.store.prompted import FOLDER, MOST_DEVICES, Prompted

PHONE, BENCH = "0123456789abcdef", "fedcba9876543210"


def test_the_newest_marks_of_all_devices_are_given_until_they_are_forgotten(tmp_path):
    kept = Prompted(tmp_path)
    assert kept.newest() == ""
    kept.keep(BENCH, "of the bench")
    os.utime(tmp_path / FOLDER / f"{BENCH}.toml", (1, 1))
    kept.keep(PHONE, "of the phone")
    assert kept.newest() == "of the phone"
    kept.keep(PHONE, " ")
    assert kept.newest() == "of the bench"


@pytest.mark.parametrize("name", ["", "../../workshop", "0123456789ABCDEF", PHONE + "0"])
def test_a_name_that_is_no_device_is_refused(tmp_path, name):
    with pytest.raises(StoreError, match="sixteen digits"):
        Prompted(tmp_path).keep(name, "text")
    assert not list(tmp_path.iterdir())


def test_no_more_than_so_many_devices_are_kept(tmp_path):
    for number in range(MOST_DEVICES + 5):
        Prompted(tmp_path).keep(f"{number:016x}", f"marks {number}")
    assert len(list((tmp_path / FOLDER).iterdir())) == MOST_DEVICES
    assert Prompted(tmp_path).newest() == f"marks {MOST_DEVICES + 4}"
