"""What the cables moved at the lever, from clearances before and after: weighted least squares over all stops."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from shiftlog.model.cables import Clearance
from shiftlog.model.follow_up import Turning

NOT_TURNED_MM = 1e-6
"""A cable that nobody touched has not moved."""
GUESS_SHARE, GUESS_MM = 0.5, 0.1
"""How far what was foretold of a cable that no stop shows may be off, where another cable's figure rests on it."""
SHOWS_LEAST = 0.3
"""A stop shows a cable if a millimetre of it takes this much of its room."""

HUBER, ROUNDS = 2.0, 20
"""Beyond so many standard uncertainties a stop counts by its size, no longer by its square (Huber, Ann. Math. Stat. 35,
1964)."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Changes:
    """One row for each stop measured both times: its room grew by ``grew`` = − takes · moved.

    grew, u (r,) [mm]; takes (r, 2) by (engage, select); gears : by row
    """

    grew: np.ndarray
    u: np.ndarray
    takes: np.ndarray
    gears: tuple[str, ...]


@dataclass(frozen=True, eq=False, kw_only=True)
class Moved:
    """(engage, select) [mm] with covariance (2, 2); shown : whether any stop shows the cable; misfit : by how much the
    stops disagree, 1 where just by what is uncertain"""

    mm: np.ndarray
    covariance: np.ndarray
    shown: tuple[bool, bool]
    misfit: float
    freedom: int


def list_changes(
    before: Sequence[Clearance], after: Sequence[Clearance], coupling: tuple[float, float]
) -> Changes:  # fmt: skip
    """Stops of the gate that had room both times; a lever that leans on its stop bounds the change, no more."""
    now = {c.gear: c for c in after if not c.soft}
    along, across = coupling
    rows: list[tuple[float, float, tuple[float, float], str]] = []
    for old in before:
        new = now.get(old.gear)
        if old.soft or new is None:
            continue
        u = float(np.hypot(old.u_mm, new.u_mm))
        if has_room(old) and has_room(new):
            rows.append((new.clearance_mm - old.clearance_mm, u, (old.way, old.way * along), old.gear))
        for side, sign in (("left", -1), ("right", 1)):
            first, then = getattr(old, f"{side}_mm"), getattr(new, f"{side}_mm")
            # A lever that leans on the side of its slot bounds the change like one that leans on its stop.
            if first and then:
                both = [getattr(c, f"{side}_u_mm") or c.u_mm for c in (old, new)]
                rows.append((then - first, float(np.hypot(*both)), (sign * across, sign), old.gear))
    grew, u, takes, gears = zip(*rows, strict=True) if rows else ((), (), (), ())
    return Changes(grew=np.array(grew), u=np.array(u), takes=np.array(takes, float).reshape(-1, 2), gears=gears)


def has_room(clearance: Clearance) -> bool:
    """Whether a press moved the lever at all."""
    return not clearance.leans


def fit_moved(changes: Changes, turnings: tuple[Turning, Turning]) -> Moved:
    """Both cables' moves. One that nobody touched stays; one that no stop shows is what was foretold, give or take."""
    shown = tuple(
        bool(np.any(np.abs(changes.takes[:, k]) > SHOWS_LEAST)) and turnings[k].touched for k in (0, 1)
    )  # fmt: skip
    takes, grew, u = [-changes.takes], [changes.grew], [changes.u]
    for k in (0, 1):
        if not shown[k]:
            guess = turnings[k].foretold_mm or 0.0
            takes.append(np.eye(2)[k : k + 1])
            grew.append(np.array([guess]))
            u.append(np.array([GUESS_SHARE * abs(guess) + GUESS_MM if turnings[k].touched else NOT_TURNED_MM]))
    design, values, sigma = np.concatenate(takes), np.concatenate(grew), np.concatenate(u)
    moved, covariance, left = _fit_robustly(design, values, sigma)
    freedom = len(changes.u) - sum(shown)
    stops = left[: len(changes.u)]
    trust = np.minimum(1.0, HUBER / np.maximum(np.abs(stops), 1e-9))
    misfit = float(np.sqrt(np.sum(trust * stops**2) / freedom)) if freedom > 0 else 1.0
    return Moved(mm=moved, covariance=covariance * max(misfit, 1.0) ** 2, shown=shown, misfit=misfit, freedom=freedom)


def _fit_robustly(
    design: np.ndarray, values: np.ndarray, sigma: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:  # fmt: skip
    """(solution, covariance, residuals over their uncertainty); one stop that did not go along cannot pull the rest."""
    trust = np.ones(values.size)
    for _ in range(ROUNDS):
        weight = np.sqrt(trust) / sigma
        weighed = design * weight[:, None]
        covariance = np.linalg.inv(weighed.T @ weighed)
        solution = covariance @ (weighed.T @ (values * weight))
        left = (values - design @ solution) / sigma
        trust = np.minimum(1.0, HUBER / np.maximum(np.abs(left), 1e-9))
    return solution, covariance, left
