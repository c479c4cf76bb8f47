"""What the rules of "adjust, replace outside, or open?" look at, and what a rule is."""

from collections.abc import Callable
from dataclasses import dataclass

from shiftlog.model.cables import CableAdvice
from shiftlog.model.guided import GuidedResult
from shiftlog.model.result import DriveResult
from shiftlog.model.seats import SeatReport

OFFSET_MM, SMALL_MM, LARGE_MM = 2.0, 1.5, 4.0
"""An offset that matters; a hysteresis that the friction of a sound lever leaves; one that it does not leave (common
practice, no source)."""

Held = tuple[str, str]
"""State and evidence."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Case:
    """A drive, and what else is known of its car at that visit.

    cables : what a clearance test says, or cables_why : why the one there is says nothing
    seats : where the lever lies in its gears; guided : results of marked tests
    """

    result: DriveResult
    cables: CableAdvice | None = None
    cables_why: str | None = None
    seats: SeatReport | None = None
    guided: tuple[GuidedResult, ...] = ()


@dataclass(frozen=True, eq=False, kw_only=True)
class Rule:
    """A rule of common practice. points_to : by ``model/sign.py``; says : what it looks for, in a sentence

    look : holds it against a case; also_looks_like : other faults with the same look; next_test : the cheapest
    """

    points_to: str
    says: str
    look: Callable[[Case], Held]
    also_looks_like: str
    next_test: str


def is_even(apart_mm: float, interval95: tuple[float, float] | None) -> bool:
    """Whether a hysteresis is small [mm], and not in its middle alone: its interval must not reach to a large one."""
    return abs(apart_mm) < SMALL_MM and max(map(abs, interval95 or (0.0,))) < LARGE_MM
