"""A sensor that turned in its holder during the drive: found because no one mounting fits both before and after."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
from scipy.spatial.transform import Rotation

from shiftlog.align.axis_fit import AxisFit, Witness, as_mounting, fit_axes
from shiftlog.align.felt import GRID_S, Felt
from shiftlog.model.drive import Mounting

Make = Callable[[np.ndarray], Witness | None]
"""Makes the witness of a span (m,) of the grid."""

LEAST_TURN_DEG = 4.0
"""Less than this no cradle and no adhesive pad is blamed for; a car leans as far (common practice, no source)."""

LEAST_SIGMAS, SURE_SIGMAS = 5.0, 10.0
"""So many standard uncertainties: a scan over a drive tries a hundred places, and slopes and bends have long tails. The
second where one side is too short to be judged once more by itself."""

HALVES_SIGMAS = 2.0
"""Halves of a drive that had no slip differ by more once in twenty times."""

HALVES_APART = (
    "the halves of the drive have forward {:.0f}° apart, so the sensor may have turned in its holder; fix it firmly"
)

LEAST_BLOCKS = 4
GUARD_S = 1.0
UNSEEN_S = 10.0
"""A turn about the vertical shows when speed changes only: by so much it may have been earlier or later."""

SEARCH_S = 30.0
HELD_DEG = np.array([[0.0, 0.8, 0.6], [0.8, 0.0, 0.6], [0.7, 0.8, 0.0]])
"""Doubt of each axis within one drive: a sensor's bias is the same before and after."""

UP_TURN_DEG, UP_WINDOW_S, UP_SPREADS = 13.0, 60.0, 1.5
"""From a descent to an ascent of 12 % each up changes by 13.7 degrees, and seldom for a minute on either side."""


def find_slip(felt: Felt, make: Make, whole: Witness, *, least_deg: float = LEAST_TURN_DEG) -> Mounting | None:
    """The mounting in its two stretches where the sensor slipped by ``least_deg`` or more, else None.

    A slope moves up and leaves forward where it is in the sensor; a bend moves neither. Each axis on either side comes
    with its uncertainty, slopes that last included, and the turn between the sides must stand out of all of it.
    """
    at, sigmas = _scan(replace(whole, doubt_deg=HELD_DEG), least_deg)
    if at is None:
        return None
    at = _refine(felt, whole, at)
    sides, at_s = _sides(felt, at), float(felt.time_s[at])
    made = [make(side) for side in sides]
    if any(w is None or fit_axes(w).turn is None for w in made):
        return _in_stretches(at_s, *map(_by_itself, made)) if sigmas > SURE_SIGMAS else None
    if _sigmas(*(fit_axes(replace(w, doubt_deg=HELD_DEG)) for w in made)) < LEAST_SIGMAS:
        return None
    return _in_stretches(at_s, *map(_by_itself, made), _turned_deg(*(fit_axes(w, levelled=True) for w in made)))


def _by_itself(witness: Witness | None) -> Mounting:
    if witness is None:
        return Mounting(rotation=None, how="unknown")
    return as_mounting(fit_axes(witness, levelled=True), witness.how, most=witness.most)


def _scan(witness: Witness, least_deg: float) -> tuple[int | None, float]:
    """The block at which two mountings explain the most, as grid index, and how many standard uncertainties lie between
    them; None where they differ nowhere enough."""
    block = witness.moments.block
    places = np.arange(block[0] + LEAST_BLOCKS, block[-1] - LEAST_BLOCKS + 1)
    best, where, found = np.inf, None, 0.0
    for place in places[:: 2 if places.size > 24 else 1]:
        sides = fit_axes(witness, block < place), fit_axes(witness, block >= place)
        if any(side.turn is None for side in sides) or _turned_deg(*sides) < least_deg:
            continue
        missed = sides[0].missed + sides[1].missed
        sigmas = _sigmas(*sides)
        if missed < best and sigmas > LEAST_SIGMAS:
            best, where, found = missed, place, sigmas
    return (None if where is None else int(where * witness.block_s / GRID_S)), found


def with_halves(fit: AxisFit, witness: Witness) -> tuple[AxisFit, str | None]:
    """The fit, less sure of forward where the halves of the drive have it otherwise than they may by chance, with what
    is to be said then: a turn too small to stand out as a slip may have hidden there, and forward is off by half of it.
    """
    early, held = witness.moments.block < np.median(witness.moments.block), replace(witness, doubt_deg=HELD_DEG)
    before, after = fit_axes(held, early), fit_axes(held, ~early)
    if fit.turn is None or before.turn is None or after.turn is None:
        return fit, None
    apart = float(_relative(before, after)[2])
    chance = float(before.turn.covariance[2, 2] + after.turn.covariance[2, 2])
    if apart**2 < HALVES_SIGMAS**2 * chance:
        return fit, None
    covariance = fit.turn.covariance.copy()
    covariance[2, 2] += apart**2 / 4
    said = HALVES_APART.format(np.rad2deg(abs(apart)))
    return replace(fit, turn=replace(fit.turn, covariance=covariance)), said


def _relative(before: AxisFit, after: AxisFit) -> np.ndarray:
    """Turn of the sensor between two fits as a rotation vector (3,) in vehicle axes [rad]."""
    return Rotation.from_matrix(before.turn.rotation @ after.turn.rotation.T).as_rotvec()


def _turned_deg(before: AxisFit, after: AxisFit) -> float:
    return float(np.rad2deg(np.linalg.norm(_relative(before, after))))


def _sigmas(before: AxisFit, after: AxisFit) -> float:
    """How many standard uncertainties the turn between the sides amounts to."""
    if before.turn is None or after.turn is None:
        return 0.0
    turn = _relative(before, after)
    few = max(min(before.freedom, after.freedom), 1.0)
    spread = (before.turn.covariance + after.turn.covariance) * (1 + 4 / few)
    return float(np.sqrt(turn @ np.linalg.solve(spread, turn)))


def _refine(felt: Felt, witness: Witness, at: int) -> int:
    """The grid step nearby at which the force goes over from what fits before to what fits after."""
    place = round(at * GRID_S / witness.block_s)
    block = witness.moments.block
    sides = fit_axes(witness, block < place - 1), fit_axes(witness, block > place)
    if any(side.rows is None for side in sides):
        # Too short to leave out what lies about the slip.
        sides = fit_axes(witness, block < place), fit_axes(witness, block >= place)
    first = max(at - int(SEARCH_S / GRID_S), 0)
    part = slice(first, at + int(SEARCH_S / GRID_S))
    missed = [np.square(felt.force[part] - witness.causes[part] @ side.rows).sum(axis=1) for side in sides]
    used = witness.used[part]
    gain = np.where(used, np.minimum(missed[0], 25.0) - np.minimum(missed[1], 25.0), 0.0)
    return first + int(np.argmin(np.concatenate(([0.0], np.cumsum(gain)))[:-1]))


def _sides(felt: Felt, at: int) -> tuple[np.ndarray, np.ndarray]:
    """Spans before and after, a second left out about the slip itself."""
    guard, index = int(GUARD_S / GRID_S), np.arange(felt.time_s.size)
    return felt.held & (index < at - guard), felt.held & (index > at + guard)


def _untold(at_s: float) -> Mounting:
    """A slip with too little on one side of it to tell forward by."""
    why = (
        "the sensor turned in its holder, and too little is left on one side of that to tell forward; "
        "fix it firmly and drive again"
    )
    return Mounting(rotation=None, how="unknown", slipped_at_s=at_s, why=why)


def _in_stretches(at_s: float, before: Mounting, after: Mounting, turned_deg: float = 0.0) -> Mounting:
    if before.rotation is None or after.rotation is None:
        return _one_side(at_s, before, after)
    why = f"the sensor turned in its holder by about {turned_deg:.0f}°; before and after are each turned by themselves"
    return replace(
        before,
        confidence=min(before.confidence, after.confidence),
        uncertainty_deg=max(before.uncertainty_deg, after.uncertainty_deg),
        slipped_at_s=at_s,
        later=((at_s, after.rotation),),
        gyro_fits=before.gyro_fits and after.gyro_fits,
        why=why,
    )


def _one_side(at_s: float, before: Mounting, after: Mounting) -> Mounting:
    """The side that tells by itself; where the other lay is not known."""
    told, side = (before, "after") if before.rotation is not None else (after, "before")
    if told.rotation is None:
        return _untold(at_s)
    why = (
        f"the sensor turned in its holder at {at_s:.0f} s, and what was driven {side} that is too little to tell "
        f"forward, so its readings {side} it are left out; fix it firmly before you set off"
    )
    held_s = (None, at_s - UNSEEN_S) if side == "after" else (at_s + UNSEEN_S, None)
    return replace(told, slipped_at_s=at_s, held_s=held_s, why=why)


def find_tilt(felt: Felt) -> Mounting | None:
    """Up that changed for good by more than slopes explain, for a sensor whose forward nothing tells; else None."""
    size = int(5.0 / GRID_S)
    held = np.flatnonzero(felt.held)
    held = held[: held.size // size * size]
    force = felt.force[held].reshape(-1, size, 3)
    up, reach = np.median(force, axis=1), int(UP_WINDOW_S / 5.0)
    turned = [_apart_deg(up[k - reach : k], up[k : k + reach]) for k in range(reach, len(up) - reach + 1)]
    if not turned or max(turned) < UP_TURN_DEG:
        return None
    at = int(np.argmax(turned)) + reach
    lasting = _apart_deg(up[:at], up[at:]) > 0.7 * UP_TURN_DEG
    return _untold(float(felt.time_s[held[at * size]])) if lasting and _stands_out(up[:at], up[at:]) else None


def _apart_deg(one: np.ndarray, other: np.ndarray) -> float:
    a, b = (np.median(part, axis=0) for part in (one, other))
    return float(np.rad2deg(np.arccos(np.clip(a @ b / np.linalg.norm(a) / np.linalg.norm(b), -1, 1))))


def _stands_out(one: np.ndarray, other: np.ndarray) -> bool:
    """Whether the change is more than bends and braking make of either side."""
    middle = [np.median(part, axis=0) for part in (one, other)]
    usual = [np.median(np.linalg.norm(part - m, axis=1)) for part, m in zip((one, other), middle, strict=True)]
    return float(np.linalg.norm(middle[1] - middle[0])) > UP_SPREADS * max(usual)
