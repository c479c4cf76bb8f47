"""Recordings made in memory."""

from collections.abc import Callable

import pytest

from shiftlog.model.car import Car
from shiftlog.model.drive import DriveHead, DriveLogs
from shiftlog.model.recording import Recording
from tests.made_recording import make_recording


def logs_of(*recordings: Recording) -> DriveLogs:
    """A drive of these recordings and nothing else."""
    return DriveLogs(head=DriveHead(id="d"), car=Car(name="x", gate=None), recordings=recordings)


@pytest.fixture
def make() -> Callable[..., Recording]:
    """Builds a recording."""
    return make_recording


@pytest.fixture(name="logs_of")
def logs_of_fixture() -> Callable[..., DriveLogs]:
    """Builds a drive."""
    return logs_of
