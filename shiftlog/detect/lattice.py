"""Which of the places the lever dwells in are which gears: every affine map the layout allows, scored.

A place is a gear, or lies on the neutral line, or is not explained; and the lever may only travel in the slots and
along the neutral line. Gears make the map; a place in neutral counts for less, wherever along the line it lies, so
that a lever resting in the wrong plane cannot pull the map towards it.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations, permutations

import numpy as np

from shiftlog.detect.dwells import Dwells, EvenLever
from shiftlog.model.car import GateLayout

MOST_PLACES = 13
CONDITION_LIMIT = 3.3
# As shares of half a pitch and of half the engage travel: a seat may lie this far from its lattice place.
SEAT_REACH = 0.35
NEUTRAL_REACH = 0.3
NEUTRAL_CREDIT = 0.75
# Sensors whose axes differ in gain are possible and rare: what a map loses for a condition number of e.
PLAIN_LOSS = 0.15
CHUNK = 20_000
SHORT_LIST = 400


@dataclass(frozen=True, eq=False, kw_only=True)
class Candidate:
    """gate mm = matrix · raw + offset, with the gear it gives to each place (None: neutral or not explained).

    explained : score as a share of the best there could be: 1 when every place is a gear and the way keeps to the slots
    """

    matrix: np.ndarray
    offset: np.ndarray
    gears: tuple[str | None, ...]
    score: float
    explained: float
    unexplained: tuple[int, ...]


@dataclass(frozen=True, eq=False, kw_only=True)
class Lattice:
    """The layout as arrays: names and places (s, 2) of the seats, planes' centres (p,), half sizes of a cell."""

    gears: tuple[str, ...]
    seats: np.ndarray
    planes: np.ndarray
    half_pitch: float
    half_travel: float


def build_lattice(layout: GateLayout) -> Lattice:
    """The layout's seats in gate mm."""
    return Lattice(
        gears=layout.gears,
        seats=np.array([layout.position_mm(g) for g in layout.gears]),
        planes=np.array([layout.plane_mm(i) for i in range(len(layout.planes))]),
        half_pitch=layout.plane_pitch_mm / 2,
        half_travel=layout.engage_travel_mm / 2,
    )


def find_candidates(lever: EvenLever, dwells: Dwells, layout: GateLayout) -> tuple[Candidate, ...]:
    """Maps that explain the places, best first, one for each different giving of gears to places."""
    lattice = build_lattice(layout)
    weight = _weigh(dwells)
    chosen = np.argsort(weight)[::-1][:MOST_PLACES]
    places = dwells.centres[chosen]
    maps = _all_maps(places, lattice)
    score = np.concatenate([_score_places(m, places, weight[chosen], lattice) for m in _chunks(maps)])
    best = np.argsort(score)[::-1][:SHORT_LIST]
    moving = _moving_samples(lever)
    total = score[best] + 2 * weight.sum() * (_share_in_slots(maps[best], moving, lattice) - 1)
    return _distinct(maps[best], total, weight.sum(), dwells.centres, lattice)


def _weigh(dwells: Dwells) -> np.ndarray:
    """Square root of the capped time spent in each place: many stays count, one long one does not swamp."""
    seconds = np.minimum(dwells.end_s - dwells.start_s, 2.0)
    return np.sqrt(np.bincount(dwells.cluster, weights=seconds, minlength=len(dwells.centres)))


def _all_maps(places: np.ndarray, lattice: Lattice) -> np.ndarray:
    """(m, 2, 3) affine maps: through three places and three seats, and similarities through two and two."""
    maps = [_similarities(places, lattice)]
    if len(places) >= 3 and len(lattice.gears) >= 3:
        maps.append(_through_three(places, lattice))
    return np.concatenate(maps)


def _similarities(places: np.ndarray, lattice: Lattice) -> np.ndarray:
    """Turn, scale and shift (and the mirrored ones) that carry two places onto two seats."""
    found = []
    for (i, j), (a, b) in _pairings(len(places), len(lattice.gears), 2):
        found.extend(_two_point_maps(places[[i, j]], lattice.seats[[a, b]]))
    return np.array(found).reshape(-1, 2, 3)


def _pairings(places: int, seats: int, size: int) -> Iterator[tuple[tuple[int, ...], tuple[int, ...]]]:
    for chosen in combinations(range(places), size):
        for target in permutations(range(seats), size):
            yield chosen, target


def _two_point_maps(raw: np.ndarray, seat: np.ndarray) -> list[np.ndarray]:
    """Complex arithmetic: z → m z + c, and z → m conj(z) + c for the mirrored one."""
    z, w = raw @ (1, 1j), seat @ (1, 1j)
    maps = []
    for mirrored in (False, True):
        source = np.conj(z) if mirrored else z
        m = (w[1] - w[0]) / (source[1] - source[0])
        c = w[0] - m * source[0]
        sign = -1 if mirrored else 1
        maps.append(np.array([[m.real, -sign * m.imag, c.real], [m.imag, sign * m.real, c.imag]]))
    return maps


def _through_three(places: np.ndarray, lattice: Lattice) -> np.ndarray:
    triples = np.array(list(combinations(range(len(places)), 3)))
    targets = np.array(list(permutations(range(len(lattice.gears)), 3)))
    raw = np.concatenate([places[triples], np.ones((len(triples), 3, 1))], axis=2)
    area = np.abs(np.linalg.det(raw))
    inverse = np.linalg.inv(raw[area > 1e-3 * area.max()])
    seats = lattice.seats[targets]
    flat = np.abs(np.linalg.det(np.concatenate([seats, np.ones((len(seats), 3, 1))], axis=2))) > 1e-6
    maps = np.einsum("tij,sjk->tski", inverse, seats[flat]).reshape(-1, 2, 3)
    singular = np.linalg.svd(maps[:, :, :2], compute_uv=False)
    return maps[singular[:, 0] < CONDITION_LIMIT * singular[:, 1]]


def _chunks(maps: np.ndarray) -> Iterator[np.ndarray]:
    for start in range(0, len(maps), CHUNK):
        yield maps[start : start + CHUNK]


def apply_maps(maps: np.ndarray, raw: np.ndarray) -> np.ndarray:
    """(m, 2, 3) maps of (k, 2) points: (m, k, 2) gate mm."""
    return np.einsum("mij,kj->mki", maps[:, :, :2], raw) + maps[:, None, :, 2]


def _seat_distance(points: np.ndarray, lattice: Lattice) -> tuple[np.ndarray, np.ndarray]:
    """Nearest seat of each point and the distance to it in half cells: (m, k) index, (m, k)."""
    cell = (lattice.half_pitch, lattice.half_travel)
    apart = np.linalg.norm((points[:, :, None, :] - lattice.seats) / cell, axis=3)
    return np.argmin(apart, axis=2), np.min(apart, axis=2)


def _is_neutral(points: np.ndarray, lattice: Lattice) -> np.ndarray:
    """Which points lie on the neutral line between the outer planes, (m, k)."""
    reach = 1.2 * lattice.half_pitch
    across = (points[:, :, 0] > lattice.planes[0] - reach) & (points[:, :, 0] < lattice.planes[-1] + reach)
    return across & (np.abs(points[:, :, 1]) < NEUTRAL_REACH * lattice.half_travel)


def _score_places(maps: np.ndarray, places: np.ndarray, weight: np.ndarray, lattice: Lattice) -> np.ndarray:
    points = apply_maps(maps, places)
    _, apart = _seat_distance(points, lattice)
    credit = np.where(_is_neutral(points, lattice), NEUTRAL_CREDIT, -0.5)
    credit = np.where(apart < SEAT_REACH, 1 - (apart / SEAT_REACH) ** 2 / 2, credit)
    singular = np.linalg.svd(maps[:, :, :2], compute_uv=False)
    plain = PLAIN_LOSS * np.log(singular[:, 0] / np.maximum(singular[:, 1], 1e-12))
    return credit @ weight - plain * weight.sum()


def _moving_samples(lever: EvenLever) -> np.ndarray:
    """At most 1,500 places the lever passed through while it moved, evenly over its way, (k, 2) raw."""
    raw = lever.raw[lever.valid]
    step = np.linalg.norm(np.diff(raw, axis=0), axis=1)
    quiet = 3 * float(lever.noise.max())
    way = np.cumsum(np.where(step > quiet, step, 0.0))
    if way[-1] == 0:
        return raw[:1]
    marks = np.linspace(0, way[-1], 1500, endpoint=False)
    return raw[np.searchsorted(way, marks, side="right")]


def _share_in_slots(maps: np.ndarray, moving: np.ndarray, lattice: Lattice) -> np.ndarray:
    """Share of the way that lies in a slot or along the neutral line, (m,)."""
    points = apply_maps(maps, moving)
    x, y = points[:, :, 0], np.abs(points[:, :, 1])
    aside = np.min(np.abs(x[:, :, None] - lattice.planes), axis=2)
    in_slot = (aside < 0.5 * lattice.half_pitch) & (y < 1.4 * lattice.half_travel)
    outer = 1.4 * lattice.half_pitch
    inside = (x > lattice.planes[0] - outer) & (x < lattice.planes[-1] + outer)
    return np.mean(in_slot | (inside & (y < 0.4 * lattice.half_travel)), axis=1)


def _distinct(
    maps: np.ndarray, score: np.ndarray, most: float, centres: np.ndarray, lattice: Lattice
) -> tuple[Candidate, ...]:
    """The best map for each different giving of gears to places, best first."""
    points = apply_maps(maps, centres)
    nearest, apart = _seat_distance(points, lattice)
    neutral = _is_neutral(points, lattice)
    found: dict[tuple[str | None, ...], Candidate] = {}
    for m in np.argsort(score)[::-1]:
        gears = tuple(
            lattice.gears[s] if d < 1.4 * SEAT_REACH else None for s, d in zip(nearest[m], apart[m], strict=True)
        )
        lost = tuple(i for i, g in enumerate(gears) if g is None and not neutral[m, i])
        if gears not in found:
            found[gears] = Candidate(
                matrix=maps[m, :, :2],
                offset=maps[m, :, 2],
                gears=gears,
                score=float(score[m]),
                explained=float(score[m] / most),
                unexplained=lost,
            )
    return tuple(found.values())
