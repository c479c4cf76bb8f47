"""A car's profile out of the text the workshop keeps."""

import tempfile
from pathlib import Path

from shiftlog.ingest.car_file import read_car
from shiftlog.model.car import Car

PROFILE = "car.toml"


def read_profile(text: str) -> Car:
    """The car of a profile's text."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / PROFILE
        path.write_text(text, encoding="utf-8")
        return read_car(path)
