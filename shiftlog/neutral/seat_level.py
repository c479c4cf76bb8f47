"""Which gear is off its place, and by how much: a map fitted to seats gives way to each of them, so that a seat that is
off moves the others as well."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from shiftlog.model.gate import GateMap

USUAL_OFF_MM, FAR_OFF_MM = 0.3, 2.0
"""Seats of a sound gate, and one that is not sound, lie this far off their places, one standard deviation (common
practice, no source)."""
SOUND, ONE_OFF, PLANE_OFF, ALIKE_OFF, ALL_OFF = 0.5, 0.3, 0.15, 0.15, 0.05
"""How likely a gate is sound, has one gear off its place, a plane to one side, goes short everywhere alike, or has any
number of gears off, before it is seen (common practice, no source)."""
MAP_OFF_MM = 3.0
"""The map that a drive gave may be off by this much over the gate, one standard deviation."""


Guess = tuple[np.ndarray, float]
"""Covariance of how far the gears are off, and how likely that is beforehand."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Level:
    """Correction of a drive's map. u_mm : by gear, how uncertain it is at the gear's place, (2,) [mm]

    terms (3, 2) : what it takes off (select, engage), by 1, select, engage; scale : in which those two are counted [mm]
    """

    terms: np.ndarray
    scale: tuple[float, float]
    u_mm: Mapping[str, np.ndarray]

    def correct(self, places: np.ndarray) -> np.ndarray:
        """(n, 2) places on the drive's map → on the corrected one [mm]."""
        return places - _design(places, self.scale) @ self.terms


def find_level(places: Mapping[str, np.ndarray], u_mm: Mapping[str, np.ndarray], gate: GateMap) -> Level:
    """Weigh which gears are off against each other; places : by gear, (2,) [mm]; u_mm : how well each is known.

    A sound gate, each gear alone, both gears of a plane to one side, all alike, and all at once are tried as what is
    off, and weighed by how likely each makes the seats that were seen (a mixture of linear models; Gelman et al.,
    Bayesian Data Analysis, 2013, chapters 14 and 22).
    """
    gears = list(places)
    lattice = np.array([gate.layout.position_mm(gear) for gear in gears]).reshape(-1, 2)
    scale = (gate.layout.plane_pitch_mm, gate.layout.engage_travel_mm / 2)
    design = _design(lattice, scale)
    terms, u = np.zeros((3, 2)), np.zeros((len(gears), 2))
    for axis in (0, 1):
        free = _free_terms(axis, absolute=gate.scale == "absolute")
        # A scale that was fitted to the seats takes what is short everywhere for its own.
        alike = design[:, 1 + axis] if gate.scale == "absolute" else np.zeros(len(gears))
        planes = _planes(lattice[:, 0]) if axis == 0 else []
        off = np.array([places[g][axis] for g in gears]) - lattice[:, axis]
        known = np.array([u_mm[g][axis] for g in gears])
        terms[free, axis], u[:, axis] = _mix(design[:, free], off, known, _guesses(alike, planes))
    return Level(terms=terms, scale=scale, u_mm={gear: u[k] for k, gear in enumerate(gears)})


def _free_terms(axis: int, *, absolute: bool) -> list[int]:
    """What a map is free in: shift, scale and lean; with a ruler its shift and its turn alone."""
    return [0, 2 - axis] if absolute else [0, 1, 2]


def _design(places: np.ndarray, scale: tuple[float, float]) -> np.ndarray:
    return np.column_stack([np.ones(len(places)), places / np.array(scale)])


def _planes(across_mm: np.ndarray) -> list[np.ndarray]:
    """The gears of each plane that has two of them, as 0 or 1 by gear."""
    members = [np.isclose(across_mm, at).astype(float) for at in np.unique(across_mm)]
    return [plane for plane in members if plane.sum() > 1]


def _mix(
    design: np.ndarray, off: np.ndarray, known: np.ndarray, guesses: Sequence[Guess]
) -> tuple[np.ndarray, np.ndarray]:  # fmt: skip
    """(terms, their uncertainty at each gear [mm]), mean and deviation of the mixture."""
    fits = [_fit(design, off, known, spread, weight) for spread, weight in guesses]
    chance = np.array([fit[2] for fit in fits])
    chance = np.exp(chance - chance.max())
    chance /= chance.sum()
    means = np.array([fit[0] for fit in fits])
    terms = chance @ means
    at = [np.einsum("gi,ij,gj->g", design, fit[1], design) + (design @ (fit[0] - terms)) ** 2 for fit in fits]
    return terms, np.sqrt(chance @ np.array(at))


def _guesses(alike: np.ndarray, planes: Sequence[np.ndarray]) -> Sequence[Guess]:
    """What may be off; alike (n,) and each of planes (n,) : how far the gears go together."""
    count = alike.size
    sound = np.eye(count) * USUAL_OFF_MM**2
    one = [sound + np.diag(np.eye(count)[k]) * (FAR_OFF_MM**2 - USUAL_OFF_MM**2) for k in range(count)]
    return [
        (sound, SOUND), *((guess, ONE_OFF / count) for guess in one),
        *((sound + FAR_OFF_MM**2 * np.outer(plane, plane), PLANE_OFF / len(planes)) for plane in planes),
        (np.eye(count) * FAR_OFF_MM**2, ALL_OFF), (sound + FAR_OFF_MM**2 * np.outer(alike, alike), ALIKE_OFF),
    ]  # fmt: skip


def _fit(
    design: np.ndarray, off: np.ndarray, known: np.ndarray, spread: np.ndarray, weight: float
) -> tuple[np.ndarray, np.ndarray, float]:  # fmt: skip
    """(terms, covariance, logarithm of how likely it is), up to what all guesses share."""
    trust = np.linalg.inv(spread + np.diag(known**2))
    inverse = design.T @ trust @ design + np.eye(design.shape[1]) / MAP_OFF_MM**2
    covariance = np.linalg.inv(inverse)
    terms = covariance @ (design.T @ trust @ off)
    left = off - design @ terms
    misfit = float(left @ trust @ left + terms @ terms / MAP_OFF_MM**2)
    volume = float(np.linalg.slogdet(trust)[1] - np.linalg.slogdet(inverse)[1])
    return terms, covariance, 0.5 * (volume - misfit) + float(np.log(weight))
