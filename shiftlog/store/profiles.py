"""Profiles that the form keeps in a workshop, beside those that came with the drives."""

import hashlib
import re
import tempfile
from pathlib import Path

from shiftlog.errors import StoreError
from shiftlog.ingest.car_file import read_car
from shiftlog.model.car import Car
from shiftlog.store.workshop import Workshop

PROFILE = "car.toml"


def kept_profile(root: Path, name: str) -> Path:
    """Where the form keeps a car's profile in the workshop; a fingerprint keeps names apart that look alike."""
    plain = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:40]
    mark = hashlib.sha256(name.encode()).hexdigest()[:6]
    return root / "profiles" / f"{plain}-{mark}" / PROFILE


def read_kept_car(workshop: Workshop, name: str) -> Car:
    """A car by the profile the form keeps, else by the one that came with its drives. ProfileError, StoreError."""
    kept = kept_profile(workshop.root, name)
    if kept.is_file():
        return read_car(kept)
    text = next((car.profile for car in workshop.cars() if car.name == name), None)
    if text is None:
        raise StoreError(f"{name}: is no car of this workshop; set the job's car to one of it")
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / PROFILE
        path.write_text(text, encoding="utf-8")
        return read_car(path)
