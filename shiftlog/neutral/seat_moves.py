"""How far a seat moves between drive and overrun: what the engine on its mounts does to the lever."""

from dataclasses import dataclass

import numpy as np
from scipy.stats import t as student

from shiftlog.model.lever import LeverPath
from shiftlog.model.reading import Reading, measured, unmeasured
from shiftlog.neutral.seat_torque import Pull
from shiftlog.neutral.seat_windows import Windows

STAY_SPREAD_MM, WINDOW_SPREAD_MM = 0.1, 0.05
"""One stay against another, and one second of a stay against the next (common practice, no source)."""
PRIOR = 2
"""Each counts as much as so many that were seen."""
ONE_SIDE = "in {gear} the car was only {seen} with the hand off the lever: {do} in it for two seconds as well"
NEITHER = "in {gear} the car neither pulled nor overran with the hand off the lever: do both, two seconds each"


@dataclass(frozen=True, eq=False, kw_only=True)
class Move:
    """From overrun to drive. engage, select [mm]; by : what told; span_mps2 : between which pulls; places or None"""

    engage: Reading
    select: Reading
    by: str | None = None
    span_mps2: float | None = None
    at_drive: tuple[float, float] | None = None
    at_overrun: tuple[float, float] | None = None


def measure_move(gear: str, windows: Windows, usable: np.ndarray, pull: Pull | str, path: LeverPath) -> Move:
    """The move in one gear; usable (w,) : its windows with no hand felt on the lever.

    Windows of one stay share where the lever happened to come to lie: a random intercept for each stay, generalised
    least squares (Aitken, 1935), so that stays that saw both count by their own difference and others by the rest.
    """
    if isinstance(pull, str):
        return _none(pull)
    driven, overrun = (usable & (pull.sign == sign) for sign in (1, -1))
    if not driven.any() or not overrun.any():
        return _none(_say_lacking(gear, bool(driven.any()), bool(overrun.any())))
    mine = driven | overrun
    fits = [_fit(windows.place[mine, k], driven[mine], windows.stay[mine], path.noise_mm) for k in (0, 1)]
    return Move(
        select=_reading("torque_select_mm", fits[0]), engage=_reading("torque_engage_mm", fits[1]), by=pull.by,
        span_mps2=None if pull.amount is None else float(pull.amount[driven].mean() - pull.amount[overrun].mean()),
        at_drive=(fits[0].driven_mm, fits[1].driven_mm), at_overrun=(fits[0].overrun_mm, fits[1].overrun_mm),
    )  # fmt: skip


@dataclass(frozen=True, eq=False, kw_only=True)
class _Fit:
    """One axis: where it lies driven and on the overrun, uncertainty of the difference, degrees of freedom."""

    driven_mm: float
    overrun_mm: float
    u_mm: float
    freedom: float


def _fit(place: np.ndarray, driven: np.ndarray, stay: np.ndarray, noise_mm: float) -> _Fit:
    design = np.column_stack([driven, ~driven]).astype(float)
    within, between, freedom = _spreads(place, driven, stay)
    floor = within**2 + noise_mm**2 / 10
    covariance = floor * np.eye(place.size) + between**2 * (stay[:, None] == stay[None, :])
    weighed = np.linalg.solve(covariance, np.column_stack([design, place]))
    spread = np.linalg.inv(design.T @ weighed[:, :2])
    at = spread @ (design.T @ weighed[:, 2])
    u = np.sqrt(spread[0, 0] + spread[1, 1] - 2 * spread[0, 1])
    return _Fit(driven_mm=float(at[0]), overrun_mm=float(at[1]), u_mm=float(u), freedom=freedom)


def _spreads(place: np.ndarray, driven: np.ndarray, stay: np.ndarray) -> tuple[float, float, float]:
    """Standard deviation within a stay and between stays, what is usual counted in, and degrees of freedom."""
    means = {(s, d): float(place[(stay == s) & (driven == d)].mean()) for s, d in zip(stay, driven, strict=True)}
    left = place - np.array([means[key] for key in zip(stay, driven, strict=True)])
    spare = place.size - len(means)
    within = _with_usual(float(left @ left), spare, WINDOW_SPREAD_MM)
    sides = [np.array([m for (_, d), m in means.items() if bool(d) is side]) for side in (True, False)]
    scatter = sum(float(np.sum((side - side.mean()) ** 2)) for side in sides)
    freedom = len(means) - 2
    return within, _with_usual(scatter, freedom, STAY_SPREAD_MM), freedom + PRIOR


def _with_usual(squares: float, spare: int, usual: float) -> float:
    return float(np.sqrt((squares + PRIOR * usual**2) / (spare + PRIOR)))


def _reading(key: str, fit: _Fit) -> Reading:
    moved, wide = fit.driven_mm - fit.overrun_mm, float(student.ppf(0.975, fit.freedom)) * fit.u_mm
    return measured(key, moved, uncertainty=fit.u_mm, interval95=(moved - wide, moved + wide))


def _none(why: str) -> Move:
    return Move(engage=unmeasured("torque_engage_mm", why), select=unmeasured("torque_select_mm", why))


def _say_lacking(gear: str, driven: bool, overrun: bool) -> str:
    if driven or overrun:
        seen, do = ("driven", "let it overrun") if driven else ("on the overrun", "accelerate")
        return ONE_SIDE.format(gear=gear, seen=seen, do=do)
    return NEITHER.format(gear=gear)
