"""Every error a user can cause, each with one line that says what, where and what would be right."""


class ShiftlogError(Exception):
    """Base of all errors that are the input's fault. Its text is one line for the technician."""


class LogError(ShiftlogError):
    """A log file cannot be used; the drive goes on without it."""


class UnclearLog(LogError):
    """A log that can be read in more than one way; only the user can say which is right."""


class RestartedLog(LogError):
    """A log whose time starts anew on the way; only the user can say whether both parts are of this drive."""


class ProfileError(ShiftlogError):
    """The car's profile or the drive's own file is wrong; nothing can be measured until it is mended."""


class DriveError(ShiftlogError):
    """A drive from which nothing at all can be measured."""


class CannotMeasure(ShiftlogError):
    """A figure, or a whole family of figures, that this log cannot support; the text is the reason."""


class CompareError(ShiftlogError):
    """Two sets of drives that cannot be compared."""


class StoreError(ShiftlogError):
    """The workshop folder cannot be read or written as asked."""


class UnreadResult(StoreError):
    """A kept result that this version cannot read, as another one wrote it; measuring the drive again mends it."""
