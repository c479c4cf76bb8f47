"""The one place that loads libraries of optional extras."""

import importlib
import logging
from types import ModuleType

from shiftlog.errors import LogError


def load_extra(module: str, *, extra: str, file: str) -> ModuleType:
    """The module. LogError, with the command that installs it, where it is not there.

    file : the log that needs it, for the message
    """
    try:
        loaded = importlib.import_module(module)
    except ImportError:
        raise LogError(f'{file}: reading it needs an extra; install it with: pip install "shiftlog[{extra}]"') from None
    # What such a library has to say of a damaged log is counted by its reader here, and not printed.
    logging.getLogger(module.partition(".")[0]).handlers = [logging.NullHandler()]
    return loaded
