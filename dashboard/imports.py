"""Logs that wait to be added: read behind the page, and made into a drive's folder."""

import shutil
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from dashboard.beside import find_profile
from dashboard.incoming import Incoming, plain_name
from dashboard.kept import Kept
from dashboard.planning import Reading, Say, head_of, read_files
from dashboard.work import Work
from shiftlog.errors import StoreError
from shiftlog.ingest.add import write_drive
from shiftlog.model.drive import Drive

PROFILE = "car.toml"


class Imports:
    """The waiting logs and what was understood of them. Safe to use from several threads."""

    def __init__(
        self,
        root: Path,
        *,
        work: Work,
        profile_of: Callable[[str], str | None],
        load: Callable[[Path, Say], Drive],
    ) -> None:
        self.incoming = Incoming(root)
        self._work, self._profile_of, self._load = work, profile_of, load
        self._readings = Kept(16)

    def reading(self, token: str) -> Reading | None:
        """The logs as they were understood, or None while they are not read."""
        return self._readings.peek(token)

    def begin(self, token: str) -> None:
        """Read the logs behind the page; the work of that key tells how far it is."""
        self._forget(token)
        self._work.begin(token, lambda say: self._keep(token, self.read(token, say=say)))

    def read(self, token: str, *, say: Say | None = None) -> Reading:
        """Read the logs now: the plan, and what the drive would be worth."""
        folder, answers = self.incoming.folder(token), self.incoming.answers(token)
        return read_files(
            self.incoming.files(token), answers, car=self._chosen_profile(answers.car, folder),
            scratch=folder / "trial" / "drive", load=self._load, say=say or (lambda _: None),
        )  # fmt: skip

    def drive_folder(self, token: str) -> Path:
        """The folder of the drive that the logs make, with the name and the car of the moment. StoreError."""
        folder, answers = self.incoming.folder(token), self.incoming.answers(token)
        reading = self.reading(token) or self.read(token)
        if not reading.ready:
            raise StoreError(reading.fault or "a log is not clear yet: answer what is asked, or take it out")
        if reading.plan is None:
            return reading.given
        head = head_of(answers, [planned.log for planned in reading.plan.recordings])
        car = self._chosen_profile(answers.car, folder) or find_profile(self.incoming.files(token))
        shutil.rmtree(folder / "made", ignore_errors=True)
        return write_drive(replace(reading.plan, head=head, car=car), folder / "made" / plain_name(head.id))

    def clear(self, token: str) -> None:
        """Throw the logs away; files that lie elsewhere stay there."""
        self.incoming.clear(token)
        self._forget(token)

    def _keep(self, token: str, reading: Reading) -> None:
        self._forget(token)
        self._readings.get(token, lambda: reading)

    def _forget(self, token: str) -> None:
        self._readings.drop(lambda key: key == token)

    def _chosen_profile(self, name: str, folder: Path) -> Path | None:
        """The profile of a car of the workshop as a file, or None where none is chosen."""
        text = self._profile_of(name) if name else None
        if text is None:
            return None
        path = folder / PROFILE
        path.write_text(text, encoding="utf-8")
        return path
