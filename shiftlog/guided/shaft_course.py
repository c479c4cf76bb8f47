"""What the tries of a spin-down test say together: a shaft that comes to rest, or one that is driven."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from shiftlog.model.reading import K95

REST, ON, OPEN = "rest", "driven", "not known"
LONG_S = 8.0
"""A free shaft has stopped long before, whatever the oil (common practice, no source)."""
SAME_SHARE = 0.15
"""A shaft that lost less than this between two waits, of which one is twice the other or more, is driven."""
APART = 1.5
STILL_FALLS = (
    "the shaft still lost speed between the last two waits that gave one, and thin oil lets a heavy disc run on as "
    "well: one more try after fifteen seconds tells"
)


class Told(Protocol):
    """What is read of a try."""

    wait_s: float
    quiet: bool | None
    shaft_rpm: float | None
    u_rpm: float | None
    why: str | None


@dataclass(frozen=True, eq=False, kw_only=True)
class Course:
    """quiet_s : the shortest wait after which the push was quiet; turning_s : the longest after which it was not

    end : ``rest`` | ``driven`` | ``not known``, with ``why``; plateau_rpm : the speed a driven shaft keeps
    """

    quiet_s: float | None
    turning_s: float | None
    end: str
    why: str
    plateau_rpm: float | None = None
    plateau_u_rpm: float | None = None
    no_speed: str = "no burst gave a tone"
    doubts: tuple[str, ...] = ()

    def plateau_why(self) -> str:
        """Why there is no plateau's speed."""
        return self.no_speed if self.end == ON else self.why


def judge_course(tries: Sequence[Told], idle_rpm: float | None) -> Course:
    """The bracket and the end of the shaft's course."""
    quiet = sorted(t.wait_s for t in tries if t.quiet is True)
    turning = sorted(t.wait_s for t in tries if t.quiet is False)
    above = [w for w in quiet if not turning or w > turning[-1]]
    doubts = () if len(above) == len(quiet) else (_mixed(quiet, turning),)
    end, why = _end(above, turning, tries)
    plateau, u = _plateau(tries) if end == ON else (None, None)
    if plateau is not None and idle_rpm and plateau > 0.9 * idle_rpm:
        doubts = (*doubts, "the shaft turns with the engine: the clutch does not open at all")
    if end == ON and _still_falls(tries):
        doubts = (*doubts, STILL_FALLS)
    return Course(
        quiet_s=above[0] if above else None, turning_s=turning[-1] if turning else None, end=end, why=why,
        plateau_rpm=plateau, plateau_u_rpm=u, doubts=doubts,
        no_speed=_late_why(tries) if turning else why,
    )  # fmt: skip


def _mixed(quiet: list[float], turning: list[float]) -> str:
    return (
        f"quiet after {quiet[0]:.1f} s and yet not after {turning[-1]:.1f} s: the pedal did not go down alike, or the "
        "clutch drags now and then"
    )


def _end(quiet: list[float], turning: list[float], tries: Sequence[Told]) -> tuple[str, str]:
    if quiet:
        return REST, f"quiet after {quiet[0]:.1f} s"
    if not turning:
        return OPEN, "no try can be told as quiet or turning"
    if turning[-1] >= LONG_S:
        return ON, f"still turning after {turning[-1]:.1f} s"
    known = sorted((t.wait_s, t.shaft_rpm, t.u_rpm or 0.0) for t in tries if t.shaft_rpm is not None)
    if len(known) >= 2 and known[-1][0] > APART * known[0][0]:
        (_, early, u0), (late_s, late, u1) = known[0], known[-1]
        if early - late < SAME_SHARE * early + np.hypot(u0, u1):
            return ON, f"no slower after {late_s:.1f} s than before"
    return OPEN, f"still turning after {turning[-1]:.1f} s, and no longer wait was tried; wait ten seconds"


def _still_falls(tries: Sequence[Told]) -> bool:
    """Whether the last two speeds known show no plateau yet."""
    known = sorted((t.wait_s, t.shaft_rpm, t.u_rpm or 0.0) for t in tries if t.shaft_rpm is not None)[-2:]
    if len(known) < 2:
        return False
    (_, early, u0), (_, late, u1) = known
    return early - late > SAME_SHARE * early + K95 * float(np.hypot(u0, u1))


def _plateau(tries: Sequence[Told]) -> tuple[float | None, float | None]:
    """Speed after the longest waits, weighted by their uncertainty; a shorter wait cannot stand for them."""
    longest = max(t.wait_s for t in tries if t.quiet is False)
    late = [t for t in tries if t.shaft_rpm is not None and t.wait_s > longest / APART]
    if not late:
        return None, None
    weights = np.array([1 / max(t.u_rpm or 1.0, 1e-3) ** 2 for t in late])
    value = float(np.average([t.shaft_rpm for t in late], weights=weights))
    return value, float(1 / np.sqrt(weights.sum()))


def _late_why(tries: Sequence[Told]) -> str:
    last = max((t for t in tries if t.quiet is False), key=lambda t: t.wait_s)
    return f"the push after {last.wait_s:.1f} s gave no speed: {last.why}" if last.why else "no burst gave a tone"
