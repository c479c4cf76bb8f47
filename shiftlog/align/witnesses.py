"""What can tell how a sensor lies: speed changes, bends, and another sensor of the same car."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from shiftlog.align.axis_fit import AXIS_DEG, BIAS_DEG, MOST_CONFIDENCE, SLOPES_DEG, Level, Witness, doubts, fit_axes
from shiftlog.align.felt import GRID_S, Felt, slope
from shiftlog.model.drive import Mounting
from shiftlog.signal.axis_moments import gather_moments
from shiftlog.signal.robust import shortest_share

BLOCK_S = 10.0
LEAST_BLOCKS = 6
LEAST_GAIN_MPS2 = 0.2
"""R.m.s. of a cause below which it is lost in the road."""

LEAST_TURNING = 0.02
"""R.m.s. yaw rate [rad/s] below which the road had no bends to speak of."""

EVEN_S = 10.0
"""For so long the speed of a car is near enough to a parabola."""

BEND_MPS2, BEND_WINDOW_S, LEAST_STRAIGHT = 1.2, 90.0, 0.25
"""Sideways force beyond which a stretch is a bend; straights are told by the commonest sideways force of a window
longer than a lap's bends, and must make up this share of it."""

BANK = 0.012
"""Slope across the road in bends over the sideways pull [rad per m/s²]: 4 % at 3 m/s² (common practice, no source).
Where most bends go one way, as on a circuit, the square tells it from a sensor that leans but for a share."""
UNTOLD = 0.3

BIAS_RADPS, LINKED = 0.02, 50.0
"""Usual bias of a gyro, and how many samples of the grid tell no more than one (common practice, no source)."""


OTHER_UNITS = (
    (np.pi / 180, "57 times too much", "rad/s", "deg/s"),
    (180 / np.pi, "57 times too little", "deg/s", "rad/s"),
)
GYRO_UNIT = (
    "the gyro reads {amiss} for speed and the sideways force in bends: in {named} it cannot be, as {fits} its numbers "
    "fit; it was left aside. Name the unit for each of its axes under [recording.columns], such as "
    'gyro_x = {{ column = "…", unit = "{fits}" }}'
)


def witness_speed(felt: Felt, mps: np.ndarray, known: np.ndarray, lag_s: float, span: np.ndarray) -> Witness | None:
    """Speed that comes ``lag_s`` late, with bends where there is a gyro; None where it hardly changed.

    mps, known (m,) : vehicle speed on the sensor's grid [m/s], and where it is known; span (m,) : samples to use
    """
    moved, there = _earlier(mps, known, lag_s)
    along, used = slope(moved), there & span
    if not changes(moved, used):
        return None
    if felt.rate is None:
        return _without_bends(felt, along, used)
    causes, doubt = [along, moved * turning(felt), moved], None
    if (both := _with_bends(felt, causes, used)) is not None:
        fit = fit_axes(both)
        if fit.turn is None or fit.left_told:
            return replace(both, level=_level(felt, causes, used, doubt_deg=(0.6, AXIS_DEG)))
        doubt = fit.doubt
    return replace(_without_bends(felt, along, used), doubt=doubt or _other_unit(felt, causes, used))


def _with_bends(felt: Felt, causes: list[np.ndarray], used: np.ndarray) -> Witness | None:
    """By how the car sped up, its speed times its yaw rate, and its speed; None without bends."""
    along, across, moved = causes
    if _rms(across[used]) < LEAST_GAIN_MPS2:
        return None
    # A gyro's bias pulls sideways in proportion to speed; the third cause takes it up, as far as biases go.
    penalty = np.array([0.0, 0.0, LINKED / BIAS_RADPS**2, 0.0])
    ones = np.ones(along.size)
    return _witness(felt, [along, across, moved, ones], used, (0, 1, 3), doubts(0.5, 0.6), penalty=penalty)


def _other_unit(felt: Felt, causes: list[np.ndarray], used: np.ndarray) -> str | None:
    """What to say where the bends fit a gyro whose numbers are in the other of its two units, else None."""
    along, across, moved = causes
    for factor, amiss, named, fits in OTHER_UNITS:
        both = _with_bends(felt, [along, across * factor, moved], used)
        fit = None if both is None else fit_axes(both)
        if fit is not None and fit.turn is not None and fit.left_told and fit.doubt is None:
            return GYRO_UNIT.format(amiss=amiss, named=named, fits=fits)
    return None


def changes(mps: np.ndarray, used: np.ndarray) -> bool:
    """Whether a speed (m,) changes enough, for long enough, to tell forward, by the samples ``used`` (m,)."""
    return used.sum() * GRID_S >= LEAST_BLOCKS * BLOCK_S and _rms(slope(mps)[used]) >= LEAST_GAIN_MPS2


def witness_pull(felt: Felt, span: np.ndarray) -> Witness | None:
    """The pull of bends alone: a rough left, but one that knows its side; None without bends."""
    if felt.rate is None or span.sum() * GRID_S < LEAST_BLOCKS * BLOCK_S:
        return None
    yaw = turning(felt)
    yaw = yaw - shortest_share(yaw[span], 0.3)[0]
    if _rms(yaw[span]) < LEAST_TURNING:
        return None
    causes = [yaw, np.abs(yaw), np.ones(yaw.size)]
    return _witness(felt, causes, span, (None, 0, 2), doubts(3.0, 3.0), scaled=False, how="gravity and yaw rate")


def witness_bends(felt: Felt, span: np.ndarray) -> Witness | None:
    """Yaw rate alone; None without bends.

    A car that drives forward is pulled towards where it turns: that tells left and right. What sideways force speed
    times yaw rate does not account for, with a speed that changes evenly for a while, is none: so whatever pulls
    beside it pulls along the car, and tells forward far better.
    """
    pulled = witness_pull(felt, span)
    if pulled is None or (rough := fit_axes(pulled)).turn is None:
        return None
    yaw, _, ones = pulled.causes.T
    forward, witness = rough.turn.rotation[0], None
    for _ in range(4):
        along = _beside_bends(felt.force @ forward, yaw, span)
        if _rms(along[span]) < LEAST_GAIN_MPS2:
            return None
        witness = _witness(felt, [along, yaw, ones], span, (0, None, 2), doubts(1.0, 1.0), how="gravity and yaw rate")
        found = fit_axes(witness)
        if found.turn is None or found.turn.rotation[0] @ rough.turn.rotation[0] < 0.5:
            return None
        forward = found.turn.rotation[0]
    return witness


def _beside_bends(along: np.ndarray, yaw: np.ndarray, used: np.ndarray) -> np.ndarray:
    """What of a force (m,) neither stays, nor goes with yaw rate, nor with yaw rate at an evenly changing speed."""
    size, left = int(EVEN_S / GRID_S), np.zeros(along.size)
    for first in range(0, along.size, size):
        rows = np.arange(first, min(first + size, along.size))
        rows = rows[used[rows]]
        if rows.size > 20:
            time = np.linspace(-1, 1, rows.size)
            causes = np.column_stack([np.ones(rows.size), yaw[rows], yaw[rows] * time, yaw[rows] * time**2])
            left[rows] = along[rows] - causes @ np.linalg.lstsq(causes, along[rows], rcond=None)[0]
    return left


def witness_other(felt: Felt, force: np.ndarray, name: str, own: Mounting, span: np.ndarray) -> Witness | None:
    """Another sensor of the same car: force (m, 3) as it felt it, in vehicle axes, on this sensor's grid.

    own : its own mounting; span (m,) : where both felt something
    """
    moving = force[span] - force[span].mean(axis=0) if span.any() else force[span]
    if span.sum() * GRID_S < LEAST_BLOCKS * BLOCK_S or _rms(moving[:, 0]) < LEAST_GAIN_MPS2:
        return None
    doubt = np.full((3, 3), np.hypot(own.uncertainty_deg or 0.0, 0.3))
    doubt[2] = np.hypot(doubt[2], BIAS_DEG)
    return _witness(
        felt, list(force.T), span, (0, 1 if _rms(moving[:, 1]) > LEAST_GAIN_MPS2 else None, 2), doubt,
        how=f"by {name}", most=own.confidence or MOST_CONFIDENCE,
    )  # fmt: skip


def _without_bends(felt: Felt, along: np.ndarray, used: np.ndarray) -> Witness:
    """Forward by the straights, where nothing pulls sideways; and left by what pulls sideways in the bends.

    A bias and the crown of a road, which up cannot tell from gravity, pull the same in every bend and leave the change
    of force alone.
    """

    def plain(used: np.ndarray) -> Witness:
        return _witness(felt, [along, np.ones(along.size)], used, (0, None, 1), doubts(0.6, 0.6))

    straight = _straights(felt, plain, used)
    witness = plain(straight)
    turn = fit_axes(witness).turn
    if turn is None:
        return witness
    pull = felt.force @ turn.rotation[1]
    # Counted from the straights: counted from anywhere else the square would have a say on the pull itself.
    pull = pull - np.median(pull[straight])
    one_sided = abs(np.mean(pull[used] ** 3)) / max(np.mean(pull[used] ** 2), 1e-9)
    banked_deg = np.rad2deg(BANK * UNTOLD * one_sided)
    doubt_deg = SLOPES_DEG, float(np.hypot(AXIS_DEG, banked_deg))
    return replace(witness, level=_level(felt, [along, pull], used, doubt_deg=doubt_deg))


def _level(felt: Felt, causes: list[np.ndarray], used: np.ndarray, *, doubt_deg: tuple[float, float]) -> Level:
    """Left by the second cause, the square of which takes up what a banked bend pulls the car down, whichever way it
    turns; a third, where there is one, is speed. doubt_deg : of left towards forward and towards up
    """
    pulled = np.column_stack([*causes, causes[1] ** 2, np.ones(used.size)])
    penalty = np.zeros(pulled.shape[1])
    penalty[2:-2] = LINKED / BIAS_RADPS**2
    moments = gather_moments(felt.force[used], pulled[used], _blocks(used.size)[used])
    return Level(moments=moments, penalty=penalty, doubt_deg=(doubt_deg[0], 0.0, doubt_deg[1]))


def _straights(felt: Felt, plain: Callable[[np.ndarray], Witness], used: np.ndarray) -> np.ndarray:
    """Those of the samples ``used`` that are in no bend, as far as the sideways force itself tells."""
    rough = fit_axes(plain(used))
    if rough.turn is None:
        return used
    sideways, straight = felt.force @ rough.turn.rotation[1], used.copy()
    size = int(BEND_WINDOW_S / GRID_S)
    for first in range(0, used.size, size):
        rows = np.flatnonzero(used[first : first + size]) + first
        if rows.size > 100:
            middle = shortest_share(sideways[rows], LEAST_STRAIGHT)[0]
            straight[rows] = np.abs(sideways[rows] - middle) < BEND_MPS2
    return straight


def turning(felt: Felt) -> np.ndarray:
    """Turning about the vertical (m,) [rad/s], as the gyro has it, its bias included."""
    mean = felt.force[felt.held].mean(axis=0)
    return felt.rate @ (mean / np.linalg.norm(mean))


def _witness(
    felt: Felt,
    causes: list[np.ndarray],
    used: np.ndarray,
    rows: tuple[int | None, int | None, int | None],
    doubt_deg: np.ndarray,
    *,
    how: str = "gravity and speed",
    penalty: np.ndarray | None = None,
    scaled: bool = True,
    most: float = MOST_CONFIDENCE,
) -> Witness:
    block = _blocks(used.size)
    pulled = np.column_stack(causes)
    moments = gather_moments(felt.force[used], pulled[used], block[used])
    penalty = np.zeros(len(causes)) if penalty is None else penalty
    return Witness(
        causes=pulled, used=used, moments=moments, rows=rows, how=how, block_s=BLOCK_S,
        penalty=penalty, doubt_deg=doubt_deg, scaled=scaled, most=most,
    )  # fmt: skip


def _blocks(count: int) -> np.ndarray:
    """Number of the block of each sample of the grid, (count,)."""
    return (np.arange(count) * GRID_S / BLOCK_S).astype(int)


def _earlier(mps: np.ndarray, known: np.ndarray, lag_s: float) -> tuple[np.ndarray, np.ndarray]:
    grid = np.arange(mps.size, dtype=float)
    late = grid + lag_s / GRID_S
    return np.interp(late, grid, mps), np.interp(late, grid, known, left=0.0, right=0.0) > 0.99


def _rms(values: np.ndarray) -> float:
    return float(np.sqrt(np.mean(np.square(values)))) if values.size else 0.0
