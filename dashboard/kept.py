"""The last few things that were made, so that they need not be made again."""

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from typing import TypeVar

Thing = TypeVar("Thing")


class Kept:
    """The last few things that were made, by key; making one does not hold up the others."""

    def __init__(self, size: int) -> None:
        self._size = size
        self._things: OrderedDict[Hashable, object] = OrderedDict()
        self._lock = threading.Lock()

    def get(self, key: Hashable, make: Callable[[], Thing]) -> Thing:
        """The thing of that key, made now if it is not there."""
        with self._lock:
            if key in self._things:
                self._things.move_to_end(key)
                return self._things[key]
        thing = make()
        with self._lock:
            self._things[key] = thing
            while len(self._things) > self._size:
                self._things.popitem(last=False)
        return thing

    def peek(self, key: Hashable) -> object | None:
        """The thing of that key if it is there."""
        with self._lock:
            return self._things.get(key)

    def drop(self, wanted: Callable[[Hashable], bool]) -> None:
        """Forget the things whose key is wanted."""
        with self._lock:
            for key in [key for key in self._things if wanted(key)]:
                del self._things[key]
