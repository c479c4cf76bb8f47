"""The ratio of each gear with its name, and how the name was come by."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from shiftlog.detect.lag import LagFit
from shiftlog.detect.ratio_fit import SLIP, RatioFit
from shiftlog.model.car import REVERSE, Car
from shiftlog.units import MPS_PER_KMH

TYRE_OFF = 0.04
"""Wear, pressure and make move a tyre's rolling radius by up to this share, for all gears alike."""

GREATEST_SCALE = 0.12
"""Neighbouring gears lie further apart than this, so a common factor up to it cannot rename gears."""

FITS = 0.025
"""A gear fits the profile if, with the common factor taken out, its ratio is this close."""

NEAR = 0.10
"""A ratio driven this close to a gear of the profile is that gear."""

MISPRINT = 0.35
"""A ratio driven that by its order can be one gear only is that gear, if it lies within this of the profile's."""

FIRST_RPM_PER_KMH = 88.0
"""A highest ratio above this is called first, below it second: road cars do 7 to 10 km/h at 1000 rpm in first
and 13 to 18 in second (common practice, no source)."""

SECOND_RPM_PER_KMH = 52.0
"""Below this the highest ratio driven is called third (19 km/h at 1000 rpm and more; common practice)."""

MISSING_STEP_FIRST, MISSING_STEP = 2.3, 1.8
"""A wider step than this, from first or from a later gear, has an unused gear in it (common practice)."""


@dataclass(frozen=True, eq=False, kw_only=True)
class RatioBands:
    """Engine speed over vehicle speed of each forward gear, highest ratio first.

    gears : names; rpm_per_mps : (k,) [rpm/(m/s)]; spread : (k,) standard deviation as a share of the ratio;
    seen_s : (k,) settled time in each [s], 0 for a gear known from the profile alone
    bias_mps : to be added to the logged vehicle speed; lag : of vehicle speed behind engine speed
    naming : ``profile`` (its ratios fit), ``gate`` (as many ratios as the gate has forward gears) or ``assumed``
    scale : ratios as driven over those of the profile, or None; unnamed : ratios driven that no gear has
    """

    gears: tuple[str, ...]
    rpm_per_mps: np.ndarray
    spread: np.ndarray
    seen_s: np.ndarray
    bias_mps: float
    lag: LagFit
    naming: str
    scale: float | None
    unnamed: tuple[float, ...] = ()

    @property
    def learnt(self) -> dict[str, float]:
        """Ratios of the gears that were driven, to offer for the profile [rpm/(m/s)]."""
        rows = zip(self.gears, self.rpm_per_mps, self.seen_s, strict=True)
        return {gear: float(ratio) for gear, ratio, seen in rows if seen > 0}


def name_gears(fit: RatioFit, lag: LagFit, car: Car | None) -> RatioBands:
    """Ratios as driven, named by the profile where they fit it, else by the gate or by what cars have."""
    profile = profile_ratios(car)
    if not profile:
        return _by_order(fit, lag, car)
    gears, known = list(profile), np.array(list(profile.values()))
    scale = fit_scale(fit, known)
    if scale is None:
        return _by_order(fit, lag, car)
    return _by_profile(fit, lag, gears, known * scale, scale)


def profile_ratios(car: Car | None) -> dict[str, float]:
    """Ratios of the profile's forward gears, highest first [rpm/(m/s)].

    Reverse is left out: logs have no sign of speed, and its ratio lies on that of first.
    """
    if car is None:
        return {}
    names = {*car.ratios, *car.learnt_rpm_per_mps} - {REVERSE}
    ratios = {gear: car.rpm_per_mps(gear) for gear in names}
    return dict(sorted(((g, r) for g, r in ratios.items() if r), key=lambda row: -row[1]))


def fit_scale(fit: RatioFit, known: np.ndarray) -> float | None:
    """The common factor by which most of the driving fits the profile, 1 where nothing was driven, or None.

    A factor beyond what tyres do is believed only where three gears or more agree on it.
    """
    if not fit.rpm_per_mps.size:
        return 1.0
    offsets = np.log(fit.rpm_per_mps[:, None] / known)
    tries = np.sort(offsets[np.abs(offsets) < GREATEST_SCALE])
    weight = np.sqrt(fit.seen_s)
    best, best_score = None, 0.5 * weight.sum()
    for shift in sorted(tries, key=abs):
        off = np.abs(offsets - shift).min(axis=1)
        agreed = off < FITS
        if abs(shift) > TYRE_OFF and np.count_nonzero(agreed) < 3:
            continue
        score = np.sum(weight * agreed * (1 - 0.5 * off / FITS)) * (1.0 if abs(shift) <= TYRE_OFF else 0.8)
        if score > best_score * (1 + 1e-9):
            best, best_score = _refine(offsets, weight, shift), score
    return None if best is None else float(np.exp(best))


def _refine(offsets: np.ndarray, weight: np.ndarray, shift: float) -> float:
    nearest = offsets[np.arange(offsets.shape[0]), np.abs(offsets - shift).argmin(axis=1)]
    agreed = np.abs(nearest - shift) < FITS
    return float(np.average(nearest[agreed], weights=weight[agreed]))


def _by_profile(fit: RatioFit, lag: LagFit, gears: list[str], scaled: np.ndarray, scale: float) -> RatioBands:
    """Each gear's ratio as driven where it was, else the profile's with the common factor."""
    rows = _assign(fit, scaled)
    ratios, seen = scaled.copy(), np.zeros(scaled.size)
    spread = np.full(scaled.size, SLIP if rows else TYRE_OFF / 2)
    for row, gear in rows.items():
        ratios[gear], spread[gear], seen[gear] = fit.rpm_per_mps[row], fit.spread[row], fit.seen_s[row]
    unnamed = tuple(float(r) for row, r in enumerate(fit.rpm_per_mps) if row not in rows)
    return RatioBands(
        gears=tuple(gears), rpm_per_mps=ratios, spread=spread, seen_s=seen, bias_mps=fit.bias_mps, lag=lag,
        naming="profile", scale=scale, unnamed=unnamed,
    )  # fmt: skip


def _assign(fit: RatioFit, scaled: np.ndarray) -> dict[int, int]:
    """Gear of each ratio driven: those near the profile's first, longest driven first; then those that can be only
    one gear because all others of the profile lie above or below by order."""
    rows: dict[int, int] = {}
    offsets = np.abs(np.log(fit.rpm_per_mps[:, None] / scaled))
    for row in np.argsort(-fit.seen_s, kind="stable"):
        gear = int(np.argmin(offsets[row]))
        if offsets[row, gear] <= NEAR and gear not in rows.values():
            rows[int(row)] = gear
    for row in range(fit.rpm_per_mps.size):
        above = max((gear for r, gear in rows.items() if r < row), default=-1)
        below = min((gear for r, gear in rows.items() if r > row), default=scaled.size)
        if row not in rows and below - above == 2 and offsets[row, above + 1] <= MISPRINT:
            rows[row] = above + 1
    return rows


def _by_order(fit: RatioFit, lag: LagFit, car: Car | None) -> RatioBands:
    """Ratios as driven, numbered from the highest."""
    forward = [] if car is None or car.gate is None else sorted(set(car.gate.gears) - {REVERSE})
    counted = len(forward) == fit.rpm_per_mps.size > 0
    return RatioBands(
        gears=tuple(forward) if counted else assume_names(fit.rpm_per_mps),
        rpm_per_mps=fit.rpm_per_mps,
        spread=fit.spread,
        seen_s=fit.seen_s,
        bias_mps=fit.bias_mps,
        lag=lag,
        naming="gate" if counted else "assumed",
        scale=None,
    )


def assume_names(rpm_per_mps: np.ndarray) -> tuple[str, ...]:
    """Gear names by what road cars have, for ratios from highest to lowest: the first by its size, a number left
    out wherever a step is too wide for one gear."""
    names: list[int] = []
    for index, ratio in enumerate(rpm_per_mps):
        if index == 0:
            per_kmh = ratio * MPS_PER_KMH
            names.append(1 if per_kmh > FIRST_RPM_PER_KMH else 2 if per_kmh > SECOND_RPM_PER_KMH else 3)
            continue
        widest = MISSING_STEP_FIRST if names[-1] == 1 else MISSING_STEP
        names.append(names[-1] + (2 if rpm_per_mps[index - 1] / ratio > widest else 1))
    return tuple(str(name) for name in names)


def as_text(rpm_per_mps: float) -> str:
    """A ratio as the trade reads it."""
    return f"{rpm_per_mps * MPS_PER_KMH:.1f} rpm per km/h"


def seen_ladder(learnt: Mapping[str, float]) -> str:
    """Gears with their ratios, in one line."""
    return ", ".join(f"{gear}: {as_text(ratio)}" for gear, ratio in learnt.items())
