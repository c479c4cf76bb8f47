"""Work that takes longer than a page may wait: one piece at a time, behind the page."""

import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

from shiftlog.errors import ShiftlogError

Progress = Callable[[str], None]


class Work:
    """What is being done, what is waiting, and what failed, by drive id."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._said: dict[str, str] = {}
        self._failed: dict[str, str] = {}
        self._running: set[str] = set()
        self._next: dict[str, Callable[[Progress], None]] = {}
        self._pool = ThreadPoolExecutor(max_workers=1, thread_name_prefix="measuring")

    def begin(self, key: str, job: Callable[[Progress], None]) -> None:
        """Queue a piece of work; a second one of the same key while the first waits or runs is passed over."""
        with self._lock:
            if key in self._said:
                return
            self._said[key] = "waiting"
            self._failed.pop(key, None)
        self._pool.submit(self._run, key, job)

    def begin_anew(self, key: str, job: Callable[[Progress], None]) -> None:
        """The same, but where a piece of that key runs already on what has changed since, it is done once more."""
        with self._lock:
            if key in self._running:
                self._next[key] = job
                return
        self.begin(key, job)

    def said(self) -> dict[str, str]:
        """How far each piece of work is, in words."""
        with self._lock:
            return dict(self._said)

    def failed(self, key: str) -> str | None:
        """Why the last piece of work of that key failed, or None."""
        with self._lock:
            return self._failed.get(key)

    def _run(self, key: str, job: Callable[[Progress], None]) -> None:
        why = None
        with self._lock:
            self._running.add(key)
        try:
            job(lambda text: self._say(key, text))
        except ShiftlogError as error:
            why = str(error)
        except Exception as error:  # a fault of ours must show on the page, not vanish with its thread
            why = f"a fault of shiftlog itself, please report it: {type(error).__name__}: {error}"
        with self._lock:
            self._running.discard(key)
            self._said.pop(key, None)
            if why is not None:
                self._failed[key] = why
            again = self._next.pop(key, None)
            if again is not None:
                self._said[key] = "waiting"
        if again is not None:
            self._pool.submit(self._run, key, again)

    def _say(self, key: str, text: str) -> None:
        with self._lock:
            self._said[key] = text
