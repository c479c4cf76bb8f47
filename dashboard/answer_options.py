"""What was said of waiting logs, in the grammar of the options of ``shiftlog add``."""

from collections.abc import Sequence
from pathlib import Path

from dashboard.incoming import Answers, FileAnswers
from shiftlog.errors import LogError
from shiftlog.ingest.add_options import LEAVE_OUT, AddOptions, options_for
from shiftlog.ingest.formats.known import find_format

LEAVE_WORD = "leave out"
_FIELDS = {"--offset": "clock offset", "--mounting": "sensor axes"}
"""What the page calls the options that are typed as they are."""


def options_of(logs: Sequence[Path], answers: Answers, decode: Path | None) -> AddOptions:
    """The answers in the grammar of the options."""
    said = [(log.name, answers.files[log.name]) for log in logs if log.name in answers.files]
    return AddOptions(
        column=tuple(text for name, a in said for text in _column_options(name, a)),
        unit=tuple(f"{name}::{header}={unit}" for name, a in said for header, (c, unit) in a.columns.items()
                   if unit and not c),
        grows=tuple(text for name, a in said for text in _grows_options(name, a)),
        place=tuple(f"{name}={a.place}" for name, a in said if a.place),
        decode=tuple(f"{log.name}={decode}" for log in logs if decode is not None and is_trace(log)),
        clock=tuple(f"{name}={a.clock}" for name, a in said if a.clock.strip()),
        offset=tuple(f"{name}={a.offset}" for name, a in said if a.offset.strip()),
        mounting=tuple(f"{name}={a.mounting}" for name, a in said if a.mounting.strip()),
    )  # fmt: skip


def faults_of_fields(logs: Sequence[Path], answers: Answers) -> dict[str, str]:
    """The logs of which something was said that cannot be read, with the line that says what."""
    faults = {}
    for log in logs:
        try:
            options_for(log, options_of([log], answers, None))
        except LogError as error:
            option, _, rest = str(error).partition(" ")
            faults[log.name] = f"{log.name}: {_FIELDS.get(option, option.removeprefix('--'))} {rest}"
    return faults


def restarts_of(answers: Answers) -> tuple[str, ...]:
    """The files whose time may start anew."""
    return tuple(name for name, said in answers.files.items() if said.restart)


def is_trace(log: Path) -> bool:
    """Whether a log holds frames that a description decodes."""
    try:
        known = find_format(log, file=log.name)
    except LogError:
        return False
    return known is not None and known.decoded


def _column_options(name: str, answers: FileAnswers) -> list[str]:
    texts = []
    for header, (channel, unit) in answers.columns.items():
        meant = LEAVE_OUT if channel == LEAVE_WORD else channel
        if meant:
            texts.append(f"{name}::{header}={meant}" + (f":{unit}" if unit and meant != LEAVE_OUT else ""))
    return texts


def _grows_options(name: str, answers: FileAnswers) -> list[str]:
    pairs = (("select", answers.select_grows), ("engage", answers.engage_grows))
    return [f"{name}::{axis}={way}" for axis, way in pairs if way]
