"""Logs on their way into the workshop: kept on disk until they are added or thrown away.

WORKSHOP/incoming/TOKEN/logs/       the files as they were sent
WORKSHOP/incoming/TOKEN/asked.json  what the technician said of them, and paths of files that stay where they are
"""

import filecmp
import json
import re
import secrets
import shutil
import time
import unicodedata
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path
from typing import BinaryIO

from shiftlog.errors import StoreError
from shiftlog.ingest.formats.known import FORMATS

BLOCK = 1 << 20
MOST_FILES = 64
MOST_BYTES = 4 << 30
"""An hour of three axes at 6.4 kHz as text stays below it."""
FREE_BYTES = 256 << 20
"""What stays free on the disk, so that the workshop itself can still be written."""

PLAIN_ENDINGS = ("", ".csv", ".tsv", ".txt", ".log", ".dat", ".toml", ".dbc")
TAKEN = tuple(dict.fromkeys([*PLAIN_ENDINGS, *(ending for known in FORMATS for ending in known.endings)]))
"""Endings of logs, car profiles and bus descriptions; pictures, archives and programs are none of them."""

STALE_S = 86400.0

_TOKEN = re.compile(r"[0-9a-f]{16}")
_ASKED = "asked.json"


@dataclass(frozen=True, kw_only=True)
class FileAnswers:
    """What was said of one file, "" where nothing was said.

    clock, offset, mounting : as in the options of ``shiftlog add``; restart : ``yes`` where its time may start anew
    columns : header → (channel, unit)
    """

    place: str = ""
    clock: str = ""
    offset: str = ""
    mounting: str = ""
    restart: str = ""
    select_grows: str = ""
    engage_grows: str = ""
    columns: dict[str, tuple[str, str]] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class Answers:
    """What was said of the whole; car : the name of a car of the workshop, or "" for a profile among the files."""

    name: str = ""
    stage: str = ""
    driver: str = ""
    car: str = ""
    files: dict[str, FileAnswers] = field(default_factory=dict)
    paths: tuple[str, ...] = ()


class Incoming:
    """The folder of logs that are not added yet."""

    def __init__(self, root: Path) -> None:
        self._root = root

    def begin(self) -> str:
        """A place for the files of one drive; returns the token that names it."""
        self._forget_empty()
        token = secrets.token_hex(8)
        (self._root / token / "logs").mkdir(parents=True)
        return token

    def folder(self, token: str) -> Path:
        """Where a token's files lie. StoreError where there is none of that name."""
        folder = self._root / token
        if not _TOKEN.fullmatch(token) or not folder.is_dir():
            raise StoreError("these logs are not waiting here any more; choose them again")
        return folder

    def pending(self) -> tuple[str, ...]:
        """Tokens whose logs are not added yet, oldest first."""
        if not self._root.is_dir():
            return ()
        folders = [f for f in self._root.iterdir() if f.is_dir() and _TOKEN.fullmatch(f.name)]
        return tuple(f.name for f in sorted(folders, key=lambda f: f.stat().st_mtime) if self.files(f.name))

    def receive(self, token: str, name: str, stream: BinaryIO, *, size: int) -> str:
        """Write a file to disk block by block; returns the name it has now. StoreError, one line, where it cannot."""
        folder = self.folder(token) / "logs"
        plain = plain_name(name)
        self._check(folder, plain, size)
        part = folder / f".{secrets.token_hex(4)}.part"
        try:
            got = _write(stream, part, size)
            if got != size:
                raise StoreError(f"{plain}: only {got} of {size} bytes arrived; send it again")
            return _settle(part, folder, plain)
        finally:
            part.unlink(missing_ok=True)

    def refer(self, text: str) -> str:
        """Files or a folder on this machine, one to a line; they stay where they are. Returns the token."""
        given = [_on_this_machine(line.strip().strip('"')) for line in re.split(r"[\n;]", text) if line.strip()]
        if not given:
            raise StoreError("the field: is no file or folder on this machine; give the path of a log or a folder")
        paths = [file for path in given for file in _logs_of(path)]
        if not paths:
            raise StoreError(f"{given[0]}: holds no log; logs end in {', '.join(TAKEN[1:])}")
        twice = next((p.name for p in paths if sum(p.name == other.name for other in paths) > 1), None)
        if twice is not None:
            raise StoreError(f"{twice}: two files have this name; rename one, so that they can be told apart")
        if len(paths) > MOST_FILES:
            raise StoreError(f"{given[0]}: holds {len(paths)} files; {MOST_FILES} at the most make a drive")
        token = self.begin()
        self.keep(token, Answers(paths=tuple(str(path.resolve()) for path in paths)))
        return token

    def files(self, token: str) -> tuple[Path, ...]:
        """All files of a token, in order of name."""
        sent = [f for f in (self.folder(token) / "logs").iterdir() if f.is_file() and not f.name.startswith(".")]
        return tuple(sorted([*sent, *map(Path, self.answers(token).paths)], key=lambda f: f.name))

    def remove(self, token: str, name: str) -> None:
        """Take one file out; one that lies elsewhere on this machine stays there."""
        for file in (self.folder(token) / "logs").iterdir():
            if file.name == name:
                file.unlink()
        said = self.answers(token)
        self.keep(token, replace(said, paths=tuple(p for p in said.paths if Path(p).name != name)))

    def answers(self, token: str) -> Answers:
        """What was said of the files."""
        asked = self.folder(token) / _ASKED
        if not asked.is_file():
            return Answers()
        said = json.loads(asked.read_text(encoding="utf-8"))
        files = {name: _file_answers(given) for name, given in said.pop("files").items()}
        return Answers(**(said | {"files": files, "paths": tuple(said["paths"])}))

    def keep(self, token: str, answers: Answers) -> None:
        """Keep what was said of the files."""
        (self.folder(token) / _ASKED).write_text(json.dumps(asdict(answers)), encoding="utf-8")

    def clear(self, token: str) -> None:
        """Throw a token's files away."""
        shutil.rmtree(self.folder(token), ignore_errors=True)

    def _forget_empty(self) -> None:
        """Places that were begun long ago and never got a file."""
        folders = self._root.iterdir() if self._root.is_dir() else ()
        for folder in folders:
            if (
                _TOKEN.fullmatch(folder.name)
                and time.time() - folder.stat().st_mtime > STALE_S
                and not self.files(folder.name)
            ):
                shutil.rmtree(folder, ignore_errors=True)

    def _check(self, folder: Path, name: str, size: int) -> None:
        ending = Path(name).suffix.lower()
        if ending not in TAKEN:
            raise StoreError(f"{name}: is no log; logs end in {', '.join(TAKEN[1:])}")
        if size > MOST_BYTES:
            raise StoreError(f"{name}: is {size / 1e9:.1f} GB; {MOST_BYTES / 1e9:.1f} GB is the most. Split the log")
        if size == 0:
            raise StoreError(f"{name}: is empty")
        if sum(f.is_file() for f in folder.iterdir()) >= MOST_FILES:
            raise StoreError(f"{name}: {MOST_FILES} files are here already, the most that make a drive")
        if size + FREE_BYTES > shutil.disk_usage(folder).free:
            raise StoreError(f"{name}: does not fit on this machine's disk; make room and send it again")


def plain_name(name: str) -> str:
    """A file name without folders, control characters and signs that a system reads otherwise."""
    last = re.split(r"[\\/]", unicodedata.normalize("NFC", name))[-1]
    kept = re.sub(r"[^\w .+()\[\]-]", "_", last).strip(" .")
    stem, dot, ending = kept.rpartition(".")
    return f"{stem[:100]}{dot}{ending[:12]}" if dot else kept[:100] or "log"


def _write(stream: BinaryIO, target: Path, size: int) -> int:
    got = 0
    with target.open("wb") as file:
        while got < size and (block := stream.read(min(BLOCK, size - got))):
            file.write(block)
            got += len(block)
    return got


def _settle(part: Path, folder: Path, name: str) -> str:
    """The file under its name; under another where that name holds something else."""
    stem, ending = Path(name).stem, Path(name).suffix
    for candidate in (name, *(f"{stem}-{n}{ending}" for n in range(2, MOST_FILES + 2))):
        target = folder / candidate
        if not target.exists() or filecmp.cmp(part, target, shallow=False):
            part.replace(target)
            return candidate
    raise StoreError(f"{name}: too many files of this name")


def _on_this_machine(text: str) -> Path:
    try:
        path = Path(text).expanduser()
        there = path.exists()
    except (OSError, RuntimeError, ValueError):
        there = False
    if not there:
        shown = text if len(text) <= 80 else f"{text[:77]}…"
        raise StoreError(f"{shown}: is no file or folder on this machine; give the path of a log or a folder")
    return path


def _logs_of(path: Path) -> list[Path]:
    if path.is_file():
        if path.suffix.lower() not in TAKEN:
            raise StoreError(f"{path}: is no log; logs end in {', '.join(TAKEN[1:])}")
        return [path]
    try:
        return _logs_in(path)
    except OSError as error:
        raise StoreError(f"{path}: cannot be read ({error.strerror})") from error


def _logs_in(path: Path) -> list[Path]:
    return sorted(f for f in path.iterdir() if f.is_file() and f.suffix.lower() in TAKEN and not f.name.startswith("."))


def _file_answers(given: dict) -> FileAnswers:
    columns = {header: tuple(pair) for header, pair in given.pop("columns").items()}
    return FileAnswers(**given, columns=columns)
