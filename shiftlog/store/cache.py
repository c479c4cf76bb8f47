"""Arrays that can be made again at any time, kept as memory-mapped files beside a workshop."""

import hashlib
import os
import tempfile
from collections.abc import Callable
from pathlib import Path

import numpy as np


class ArrayCache:
    """Arrays by key, one ``.npy`` each; deleting any or all of them loses nothing but time."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def get(self, key: str, make: Callable[[], np.ndarray]) -> np.ndarray:
        """The array of a key, read-only and memory-mapped, made and written where it is missing or damaged."""
        path = self.folder / f"{hashlib.sha256(key.encode()).hexdigest()[:32]}.npy"
        try:
            return np.load(path, mmap_mode="r", allow_pickle=False)
        except (OSError, ValueError):
            _write(path, make())
        return np.load(path, mmap_mode="r", allow_pickle=False)


def _write(path: Path, array: np.ndarray) -> None:
    """Written beside and moved into place, so that no reader ever sees half an array."""
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, beside = tempfile.mkstemp(dir=path.parent, suffix=".part")
    try:
        with os.fdopen(handle, "wb") as file:
            np.save(file, np.ascontiguousarray(array), allow_pickle=False)
        os.replace(beside, path)
    except BaseException:
        Path(beside).unlink(missing_ok=True)
        raise
