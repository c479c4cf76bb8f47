"""Which way a sensor lies, from the moments of what it felt: how each cause pulled, and what that makes of its axes."""

from dataclasses import dataclass

import numpy as np

from shiftlog.model.drive import Mounting
from shiftlog.signal.axis_moments import Coefficients, Moments, fit_coefficients
from shiftlog.signal.axis_turn import Turn, chance_within, fit_turn

RIGHT_DEG = 3.0
"""Confidence is the probability that the forward axis is right within this."""

LEAST_CONFIDENCE = 0.5
MOST_CONFIDENCE = 0.99
FLOOR_MPS2 = 0.3
"""What a block of a drive may miss and fit well: a slope of 3 % lasts longer than a block (common practice)."""

GAIN = (0.35, 2.5)
"""1 m/s² of speed change must be felt as something near it; else the speed is not this car's, or not of this time."""

AXIS_DEG = 0.4
"""What squat, roll and road leave in an axis however long the drive (common practice, no source)."""

SLOPES_DEG = 5.0
"""Doubt of left towards forward by the pull of bends alone: slopes pull along the car meanwhile."""

STANDS_OUT = 4.0
"""A cause must pull this many standard uncertainties to name an axis."""

MIRROR = -0.7
"""Cosine between left as the bends have it and left as up and forward have it, below which one is a mirror image."""

MIRRORED_GYRO = (
    "accelerometer and gyro are mirror images of one another (no rotation fits bends, speed and gravity at once, one "
    "with all signs of either turned does), so the gyro was left aside; turn the signs of all three gyro axes in the "
    "log, or, where it is the accelerometer that has left-handed axes, the sign of the axis that is turned"
)

SLOPE_DEG, SLOPE_LASTS_S = 2.0, 60.0
"""Standard deviation of a road's slope, and how long a slope lasts (common practice, no source)."""

BIAS_DEG, CROWN_DEG = 0.7, 0.7
"""Up by a sensor with a bias of 0.12 m/s², and the crown of a road (common practice, no source)."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Level:
    """Left by the second cause of these moments; penalty (k,); doubt_deg : of left towards forward, itself and up."""

    moments: Moments
    penalty: np.ndarray
    doubt_deg: tuple[float, float, float]


@dataclass(frozen=True, eq=False, kw_only=True)
class Witness:
    """What tells how a sensor lies.

    causes (m, k), used (m,) : what pulled, on the sensor's grid, and the samples that count; moments : of the force by
    its causes, in blocks of block_s; rows : which cause is forward, left and up, None for
    none; how : as the mounting has it; penalty (k,); doubt_deg (3, 3) : of axis i towards j beyond what scatters
    scaled : whether a cause's gain is known to be near 1; most : confidence cannot be higher; doubt : what is doubtful
    level : what tells left by bends with their banking taken out, or None
    """

    causes: np.ndarray
    used: np.ndarray
    moments: Moments
    rows: tuple[int | None, int | None, int | None]
    how: str
    block_s: float
    penalty: np.ndarray
    doubt_deg: np.ndarray
    scaled: bool = True
    most: float = MOST_CONFIDENCE
    doubt: str | None = None
    level: Level | None = None


@dataclass(frozen=True, eq=False, kw_only=True)
class AxisFit:
    """A turn with its degrees of freedom, or None, with the reason where there is more to say than too little.

    rows (k, 3) : the force that goes with each cause, and how much they miss; left_told : whether bends had a say
    doubt : what is doubtful about it
    """

    turn: Turn | None
    rows: np.ndarray | None = None
    missed: float = 0.0
    left_told: bool = False
    freedom: float = 1.0
    why: str | None = None
    doubt: str | None = None


def doubts(forward_deg: float, left_deg: float) -> np.ndarray:
    """(3, 3) systematic doubt [deg] of axis i towards j: of forward and left in the plane, as given; of up by bias."""
    up = (BIAS_DEG, float(np.hypot(BIAS_DEG, CROWN_DEG)), 0.0)
    return np.array([(0.0, forward_deg, AXIS_DEG), (left_deg, 0.0, AXIS_DEG), up])


def fit_axes(witness: Witness, kept: np.ndarray | None = None, *, levelled: bool = False) -> AxisFit:
    """The turn that the blocks for which ``kept`` is true agree on (all where None); levelled : left by ``level``."""
    moments = witness.moments if kept is None else witness.moments.chosen(kept)
    found = fit_coefficients(moments, floor=FLOOR_MPS2, penalty=witness.penalty)
    if found is None:
        return AxisFit(turn=None)
    used = [row if row is not None and _stands_out(found, row, witness.scaled and place < 2) else None
            for place, row in enumerate(witness.rows)]  # fmt: skip
    if used[2] is None or (used[0] is None and used[1] is None) or (witness.rows[0] is not None and used[0] is None):
        return AxisFit(turn=None)
    doubt = witness.doubt
    if used[0] is not None and used[1] is not None:
        used, said = _check_hand(found, used)
        doubt = said or doubt
    return _turn(found, used, witness, moments, doubt, _left(witness) if levelled else None)


def _left(witness: Witness) -> Coefficients | None:
    """Left as bends have it without their banking, where they pulled hard enough."""
    if witness.level is None:
        return None
    found = fit_coefficients(witness.level.moments, floor=FLOOR_MPS2, penalty=witness.level.penalty)
    return found if found is not None and _stands_out(found, 1, scaled=True) else None


def _stands_out(found: Coefficients, row: int, scaled: bool) -> bool:
    length = float(np.linalg.norm(found.rows[row]))
    spread = np.sqrt(np.trace(found.covariance[row, :, row, :]) / 3)
    if scaled and not GAIN[0] < length < GAIN[1]:
        return False
    return length > STANDS_OUT * spread


def _check_hand(found: Coefficients, used: list[int | None]) -> tuple[list[int | None], str | None]:
    """Whether left by the bends is left by forward and up; a gyro that lies otherwise than the accelerometer, or is a
    mirror image of it, is left aside."""
    forward, left, up = (found.rows[row] / np.linalg.norm(found.rows[row]) for row in used)
    agree = float(left @ np.cross(up, forward))
    if agree < MIRROR:
        return [used[0], None, used[2]], MIRRORED_GYRO
    if agree < -MIRROR:
        return [used[0], None, used[2]], "the gyro's axes do not fit the accelerometer's, so it was left aside"
    return used, None


def _turn(
    found: Coefficients, used: list[int | None], witness: Witness, moments: Moments, doubt: str | None,
    left: Coefficients | None,
) -> AxisFit:  # fmt: skip
    axes = np.array([np.full(3, np.nan) if row is None else found.rows[row] for row in used])
    covariance = np.zeros((3, 3, 3, 3))
    for i, a in enumerate(used):
        for j, b in enumerate(used):
            if a is not None and b is not None:
                covariance[i, :, j, :] = found.covariance[a, :, b, :]
    told = [found.told[row] for row in used[:2] if row is not None]
    freedom = max(max(told) - len(witness.penalty), 1.5)
    doubt_deg = _doubt(found, used, witness, moments)
    if left is not None:
        axes[1], covariance[1, :, 1, :] = left.rows[1], left.covariance[1, :, 1, :]
        covariance[1, :, (0, 2), :] = covariance[(0, 2), :, 1, :] = 0.0
        doubt_deg[1] = witness.level.doubt_deg
    turn = fit_turn(axes, covariance, np.deg2rad(doubt_deg))
    return AxisFit(
        turn=turn,
        rows=found.rows,
        missed=found.missed,
        left_told=used[1] is not None,
        freedom=float(freedom),
        doubt=doubt,
    )


def _doubt(found: Coefficients, used: list[int | None], witness: Witness, moments: Moments) -> np.ndarray:
    """Systematic doubt (3, 3) [deg], with slopes that last, and bends that nothing accounted for."""
    doubt = witness.doubt_deg.copy()
    seconds = moments.block.size * witness.block_s
    doubt[2, 0] = np.hypot(doubt[2, 0], SLOPE_DEG / np.sqrt(1 + seconds / SLOPE_LASTS_S))
    if used[1] is None and witness.scaled:
        doubt[2, 1] = np.hypot(doubt[2, 1], np.rad2deg(0.15 * found.left / 9.81))
        doubt[0, 1] = np.hypot(doubt[0, 1], 0.4 * found.left)
    return doubt


def as_mounting(fit: AxisFit, how: str, *, most: float = MOST_CONFIDENCE) -> Mounting:
    """The mounting with its confidence, at the most ``most``, or why it is not sure enough."""
    if fit.turn is None:
        return Mounting(rotation=None, how="unknown", why=fit.why)
    chance = min(chance_within(fit.turn.covariance, np.deg2rad(RIGHT_DEG), freedom=fit.freedom), most)
    forward = float(np.rad2deg(np.sqrt(np.trace(fit.turn.covariance[1:, 1:]))))
    if chance < LEAST_CONFIDENCE:
        why = (
            f"up is known and forward is not: {how} give it to ± {forward:.0f}° only; drive longer with more changes "
            "of speed, log vehicle speed, or declare the mounting"
        )
        return Mounting(rotation=None, how="unknown", why=why)
    return Mounting(
        rotation=fit.turn.rotation,
        how=how,
        confidence=chance,
        uncertainty_deg=forward,
        why=fit.doubt,
        gyro_fits=fit.doubt is None,
    )
