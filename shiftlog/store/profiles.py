"""Profiles that the form keeps in a workshop, beside those that came with the drives."""

import hashlib
import re
from pathlib import Path

PROFILE = "car.toml"


def kept_profile(root: Path, name: str) -> Path:
    """Where the form keeps a car's profile in the workshop; a fingerprint keeps names apart that look alike."""
    plain = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:40]
    mark = hashlib.sha256(name.encode()).hexdigest()[:6]
    return root / "profiles" / f"{plain}-{mark}" / PROFILE
