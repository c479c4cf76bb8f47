"""What the program returns, and an error on one line. Light: the command line loads it for `--help` too."""

USABLE, OUR_FAULT, UNUSABLE, INTERRUPTED = 0, 1, 2, 130
"""Something was usable; a fault of shiftlog itself; nothing was usable, the profile or the usage is wrong; Ctrl+C."""


def one_line(error: BaseException) -> str:
    """The error's text on one line."""
    return " ".join(str(error).split())
