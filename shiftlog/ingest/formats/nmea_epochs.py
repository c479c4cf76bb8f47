"""Which fix a speed without a time of its own belongs to: VTG, told by the order in which a receiver speaks."""

from array import array
from collections import Counter
from dataclasses import dataclass, field

import numpy as np


@dataclass
class LooseSpeeds:
    """Speeds so far, each between two sentences that carry a time.

    at : the row of the sentence before, -1 where there is none; speed : [kn]
    inside : 1 where the sentence behind has the same time; before, after : index into ``kinds`` of the two sentences
    waited_s, waits_s : from the sentence before and to the one behind, by stamps of reception, else NaN
    """

    at: array = field(default_factory=lambda: array("q"))
    speed: array = field(default_factory=lambda: array("d"))
    inside: bytearray = field(default_factory=bytearray)
    before: bytearray = field(default_factory=bytearray)
    after: bytearray = field(default_factory=bytearray)
    waited_s: array = field(default_factory=lambda: array("d"))
    waits_s: array = field(default_factory=lambda: array("d"))
    kinds: list[str] = field(default_factory=lambda: [""])
    opens_log: bool = False
    _last: tuple[str, float] = ("", np.nan)

    def take(self, speed: float, *, row: int, received: float) -> None:
        """A speed behind the sentence of ``row``; received : [s], NaN where no stamp says so."""
        self.opens_log |= not self._last[0] and not self.at
        self.at.append(row)
        self.speed.append(speed)
        self.before.append(self._index(self._last[0]))
        self.waited_s.append(received - self._last[1])
        self.waits_s.append(received)

    def pass_timed(self, kind: str, *, is_new: bool, received: float) -> None:
        """A sentence with a time; ``is_new`` where it is another one than that of the sentence before."""
        while len(self.after) < len(self.at):
            place = len(self.after)
            self.after.append(self._index(kind))
            self.inside.append(not is_new)
            self.waits_s[place] = received - self.waits_s[place]
        self._last = (kind, received)

    def _index(self, kind: str) -> int:
        if kind not in self.kinds:
            self.kinds.append(kind)
        return self.kinds.index(kind)

    def rows(self, count: int) -> tuple[np.ndarray, np.ndarray, bool]:
        """The row, (k,) int, and speed, (k,) [kn], of each that has one of ``count`` rows; and whether all are sure."""
        at = np.array(self.at, dtype=np.int64)
        ends_log = len(self.after) < at.size
        self.pass_timed("", is_new=True, received=np.nan)
        inside = np.frombuffer(self.inside, dtype=bool)
        before, after = np.frombuffer(self.before, dtype=np.uint8), np.frombuffer(self.after, dtype=np.uint8)
        # Where both neighbours share a time, they tell which kinds a receiver puts before the speed and which behind.
        comes_before, comes_after = Counter(before[inside].tolist()), Counter(after[inside].tolist())
        behind = np.array([comes_after[kind] > comes_before[kind] for kind in after.tolist()], dtype=bool)
        ahead = np.array([comes_before[kind] > comes_after[kind] for kind in before.tolist()], dtype=bool)
        told = inside | behind | ahead
        opens, sure = self._opens_epoch(~told, ends_log=ends_log)
        late = np.where(told, behind & ~ahead & ~inside, opens)
        row = at + late
        kept = (row >= 0) & (row < count)
        return row[kept], np.array(self.speed)[kept], bool(sure or np.all(told))

    def _opens_epoch(self, among: np.ndarray, *, ends_log: bool) -> tuple[bool, bool]:
        """Whether the speed comes first after the pause, by stamps or else by the log's ends; and if it is sure."""
        waited_s, waits_s = np.array(self.waited_s)[among], np.array(self.waits_s)[among]
        both = np.isfinite(waited_s) & np.isfinite(waits_s)
        if np.any(both):
            waited, waits = np.median(waited_s[both]), np.median(waits_s[both])
            if waited != waits:
                return bool(waits < waited), True
        return self.opens_log and not ends_log, self.opens_log != ends_log
