"""The files that come with logs and are none: which of them is used, and what for."""

from collections.abc import Sequence
from pathlib import Path

from dashboard import words
from dashboard.answer_options import is_trace
from shiftlog.errors import ProfileError
from shiftlog.ingest.drive_file import DRIVE_FILE, list_files
from shiftlog.ingest.faults import load_toml

TOML, DBC = ".toml", ".dbc"
ENDINGS = (TOML, DBC)
"""No log ends so."""

_FRAMES = "says what the frames of a bus hold"


def find_profile(files: Sequence[Path]) -> Path | None:
    """The car's profile among the files, or None."""
    return next((f for f in files if _is_profile(f)), None)


def find_decoding(files: Sequence[Path]) -> Path | None:
    """The description of bus frames among the files: a DBC, or TOML with signals."""
    return next((f for f in files if _decodes(f)), None)


def say_uses(
    files: Sequence[Path], logs: Sequence[Path], *, car: Path | None, decode: Path | None
) -> tuple[tuple[str, str], ...]:
    """Name and use of each file that is no log; car, decode : the profile and the description that are used."""
    return tuple((f.name, _use(f, logs, car=car, decode=decode)) for f in files if f not in logs)


def say_uses_in_drive(files: Sequence[Path], folder: Path) -> tuple[tuple[str, str], ...]:
    """Name and use of each file of a folder that is a drive already; none where its drive.toml is wrong."""
    try:
        known = list_files(folder)
    except ProfileError:
        return ()
    uses = {path: _FRAMES if _decodes(path) else "a log of the drive" for path in known.logs}
    uses |= {known.profile: "the car's profile"} if known.profile else {}
    named = ((f.name, uses.get(f.resolve(), f"not used, as {DRIVE_FILE} does not name it")) for f in files)
    return tuple((name, "says what the drive is made of" if name == DRIVE_FILE else use) for name, use in named)


def _use(file: Path, logs: Sequence[Path], *, car: Path | None, decode: Path | None) -> str:
    if file == car:
        return "the car's profile"
    if _is_profile(file):
        return "a car's profile, not used, as another one is"
    if (fault := _fault(file)) is not None:
        return f"not used: {fault}"
    if not _decodes(file):
        return "not used: no log, no car's profile and no description of a bus"
    if file != decode:
        return f"{_FRAMES}, not used, as {decode.name if decode else 'another file'} is"
    traces = [log.name for log in logs if is_trace(log)]
    if not traces:
        return f"{_FRAMES}, not used, as none of the logs is a trace of one"
    return f"says what the frames of {words.sentence_list(traces)} hold"


def _decodes(file: Path) -> bool:
    return file.suffix.lower() == DBC or _holds(file, "signal")


def _is_profile(file: Path) -> bool:
    """A profile that cannot be parsed is still meant as one; reading it says what is wrong."""
    return file.name != DRIVE_FILE and (_holds(file, "car") or file.name == "car.toml")


def _holds(file: Path, key: str) -> bool:
    """Whether a file is TOML that holds a key."""
    try:
        return file.suffix.lower() == TOML and key in load_toml(file)
    except ProfileError:
        return False


def _fault(file: Path) -> str | None:
    """Why a file cannot be read as TOML, without its name; None where it can, or is none."""
    try:
        if file.suffix.lower() == TOML:
            load_toml(file)
    except ProfileError as error:
        return str(error).removeprefix(f"{file.name}: ").removesuffix(".")
    return None
