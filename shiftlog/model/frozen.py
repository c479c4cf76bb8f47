"""Channels that stood at one value where they cannot have: which of them did alike, in words."""

from collections.abc import Mapping
from dataclasses import dataclass

from shiftlog.model.recording import TOGETHER


@dataclass(frozen=True, kw_only=True)
class Stood:
    """names : channels that stood for as long, for one reason; how : for how long, and what shows it

    paired : whether a partner that changed shows it, rather than the tremble of a sound sensor
    """

    names: tuple[str, ...]
    how: str
    paired: bool


def stood_alike(frozen_s: Mapping[str, float]) -> tuple[Stood, ...]:
    """How channels stood, from how long each did [s], one for those that did alike."""
    names: dict[tuple[str, bool], list[str]] = {}
    for name, stood_s in frozen_s.items():
        shows = f"while {TOGETHER[name]} changed" if name in TOGETHER else "where a sound sensor trembles"
        how = f"at one value for {stood_s:.{0 if stood_s >= 10 else 1}f} s {shows}"
        names.setdefault((how, name in TOGETHER), []).append(name)
    return tuple(Stood(names=tuple(alike), how=how, paired=paired) for (how, paired), alike in names.items())
