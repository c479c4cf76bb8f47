"""Several drives in one command: one that cannot be used does not stop the others."""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TypeVar

from shiftlog.commands.exit_codes import UNUSABLE, USABLE, one_line
from shiftlog.commands.terminal import say
from shiftlog.errors import CannotMeasure, DriveError, LogError, ProfileError

T = TypeVar("T")


def for_each_drive(paths: Sequence[Path], work: Callable[[Path], T]) -> tuple[list[T], int]:
    """What ``work`` gave for each drive that could be used, and the exit code.

    One line on standard error for each drive that could not. A wrong profile sets the code to 2 even where other
    drives were usable.
    """
    given: list[T] = []
    profile_wrong = False
    for path in paths:
        try:
            given.append(work(path))
        except (DriveError, LogError, CannotMeasure, ProfileError) as error:
            say(one_line(error))
            profile_wrong = profile_wrong or isinstance(error, ProfileError)
    return given, UNUSABLE if profile_wrong or not given else USABLE
