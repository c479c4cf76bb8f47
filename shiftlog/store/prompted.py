"""Marks that devices have prompted, kept in the workshop until somebody pastes them into a drive."""

import os
import re
import tempfile
from pathlib import Path

from shiftlog.errors import StoreError

FOLDER = "prompted"
MOST_DEVICES = 30
_DEVICE = re.compile(r"[0-9a-f]{16}")


class Prompted:
    """One text a device, the newest of all of them first asked for."""

    def __init__(self, root: Path) -> None:
        self._folder = root / FOLDER

    def keep(self, device: str, text: str) -> None:
        """Keep what a device has prompted, in place of what it had; nothing where the text is empty. StoreError."""
        if not _DEVICE.fullmatch(device):
            raise StoreError(f"device “{device[:20]}”: sixteen digits and letters a to f are expected")
        try:
            if not text.strip():
                (self._folder / f"{device}.toml").unlink(missing_ok=True)
                return
            self._folder.mkdir(exist_ok=True)
            with tempfile.NamedTemporaryFile("w", dir=self._folder, encoding="utf-8", delete=False) as trial:
                trial.write(text)
            os.replace(trial.name, self._folder / f"{device}.toml")
            for old in self._files()[MOST_DEVICES:]:
                old.unlink(missing_ok=True)
        except OSError as error:
            raise StoreError(f"{self._folder}: cannot be written ({error.strerror}); is the disk full?") from error

    def newest(self) -> str:
        """The marks that were kept last, or nothing. StoreError."""
        try:
            return self._files()[0].read_text(encoding="utf-8") if self._files() else ""
        except OSError as error:
            raise StoreError(f"{self._folder}: cannot be read ({error.strerror})") from error

    def _files(self) -> list[Path]:
        return sorted(self._folder.glob("*.toml"), key=lambda file: file.stat().st_mtime_ns, reverse=True)
