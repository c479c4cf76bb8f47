"""Progress on the terminal: one line that changes, for work that lasts."""

import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager

QUIET_S = 1.0
"""Anything that takes longer than this says what it is doing."""

CLEAR = "\r\x1b[K"


@contextmanager
def show_progress() -> Iterator[Callable[[str], None]]:
    """A function that takes what is being done; the line appears after ``QUIET_S`` and is gone at the end.

    Only a terminal sees it: what is written to a file stays one line for each thing left out.
    """
    if not sys.stderr.isatty():
        yield _silent
        return
    line = _Line()
    try:
        yield line.say
    finally:
        line.close()


class _Line:
    """The changing line. A timer draws it, so that a long first step shows too."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._text, self._due, self._drawn = "", False, False
        self._timer = threading.Timer(QUIET_S, self._fall_due)
        self._timer.daemon = True
        self._timer.start()

    def say(self, text: str) -> None:
        """What is being done from now on."""
        with self._lock:
            self._text = text
            self._draw()

    def close(self) -> None:
        """Take the line off the terminal."""
        self._timer.cancel()
        with self._lock:
            self._due = False
            if self._drawn:
                print(CLEAR, end="", file=sys.stderr, flush=True)

    def _fall_due(self) -> None:
        with self._lock:
            # The timer may fire while the line is being closed, and must draw nothing then.
            self._due = not self._timer.finished.is_set()
            self._draw()

    def _draw(self) -> None:
        if self._due and self._text:
            self._drawn = True
            print(f"{CLEAR}{self._text} …", end="", file=sys.stderr, flush=True)


def _silent(_: str) -> None:
    """Progress that no terminal shows."""
