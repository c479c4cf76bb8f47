"""Whether engine and vehicle speed contradict the gears that a gate map names, and what is to blame."""

import numpy as np

from shiftlog.detect.dwells import Dwells
from shiftlog.detect.lattice import Candidate
from shiftlog.detect.orientation import stay_gears, stay_ratio
from shiftlog.errors import ProfileError
from shiftlog.model.car import REVERSE, Car
from shiftlog.model.drive import Signals

# Neighbouring gears lie 15 % and more apart; tyre and final drive of the right car are never that far off together.
FAR_OFF = 0.15
NEAR = 0.08
# A contradiction takes this many stays in two gears or more, this share of them far off: a clutch that is down in one
# stay or another contradicts nothing.
LEAST_STAYS = 4
MOST_SHARE = 0.75
KMH = 3.6


def check_against_speeds(
    chosen: Candidate, candidates: tuple[Candidate, ...], dwells: Dwells, signals: Signals, car: Car
) -> None:
    """ProfileError where nearly every stay under way drives at another ratio than the gear named for it.

    The line blames the declared directions where another reading of the lever fits the speeds, else the profile.
    """
    seen = measure_ratios_off(chosen, dwells, signals, car)
    if not _contradicts(seen):
        return
    for other in candidates:
        off = measure_ratios_off(other, dwells, signals, car)
        if other is not chosen and any(signals.lever_grows) and _fits(off):
            raise ProfileError(
                "drive.toml: engine and vehicle speed contradict the declared directions of the lever, and fit others: "
                "check `grows` of select and engage under [recording.columns]"
            )
    raise ProfileError(
        f"car.toml: the lever's gears do not fit engine and vehicle speed ({_figures(seen, car)}); "
        "check [gate] planes, ratios, final_drive and tyre"
    )


Off = list[tuple[str, float]]
"""For each stay under way the gear named and ln(measured / profile) of engine speed over vehicle speed."""


def measure_ratios_off(candidate: Candidate, dwells: Dwells, signals: Signals, car: Car) -> Off:
    """Of each stay under way in a gear of known ratio."""
    off: Off = []
    for gear, start_s, end_s in stay_gears(candidate, dwells):
        known = None if gear == REVERSE else car.rpm_per_mps(gear)
        ratio = stay_ratio(signals, start_s, end_s)
        if known and ratio is not None:
            off.append((gear, ratio - float(np.log(known))))
    return off


def _contradicts(off: Off) -> bool:
    if len(off) < LEAST_STAYS or len({g for g, _ in off}) < 2:
        return False
    return float(np.mean([abs(o) > FAR_OFF for _, o in off])) >= MOST_SHARE


def _fits(off: Off) -> bool:
    enough = len(off) >= LEAST_STAYS and len({g for g, _ in off}) >= 2
    return enough and float(np.mean([abs(o) < NEAR for _, o in off])) >= MOST_SHARE


def _figures(off: Off, car: Car) -> str:
    parts = []
    for gear in sorted({g for g, _ in off}):
        known = (car.rpm_per_mps(gear) or 0.0) / KMH
        driven = known * float(np.exp(np.median([o for g, o in off if g == gear])))
        parts.append(f"{gear}: {driven:.0f} rpm per km/h driven, {known:.0f} by the profile")
    return "; ".join(parts)
