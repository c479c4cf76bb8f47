"""Engine speed over vehicle speed of each gear, learnt where the lever tells which gear is in."""

from collections.abc import Mapping, Sequence

import numpy as np

from shiftlog.model.car import NEUTRAL, REVERSE, Car
from shiftlog.model.drive import Signals
from shiftlog.model.shift import Shift
from shiftlog.signal.robust import robust_sigma

SLOWEST_MPS = 3.0
# After the gear is in, the clutch needs time to take up; before the next shift it may be down already.
CLUTCH_S = 0.8
LEAST_SAMPLES = 20
# Engine speed over vehicle speed may differ from the profile by this much: tyre wear and the free or the rolling
# radius (3 % and 1 to 2 %), alike in all gears; one gear against the others by half of it.
COMMON_WITHIN = 0.06
SINGLE_WITHIN = 0.03


def learn_from_lever(signals: Signals, shifts: Sequence[Shift]) -> Mapping[str, float]:
    """rpm per m/s by gear, from the stays between shifts with the clutch closed; empty where speeds are missing."""
    engine, speed = signals.engine_speed, signals.vehicle_speed
    if engine is None or speed is None:
        return {}
    seen: dict[str, list[np.ndarray]] = {}
    for first, second in zip(shifts, [*shifts[1:], None], strict=False):
        gear = first.to_gear
        if first.outcome in ("missed", "to_neutral", "jumped_out") or gear in (None, NEUTRAL, REVERSE):
            continue
        begin = (first.end_s or first.start_s) + CLUTCH_S
        end = (second.start_s if second else begin + 10.0) - CLUTCH_S / 2
        at = np.arange(begin, min(end, engine.time_s[-1], speed.time_s[-1]), 0.1)
        v = np.interp(at, speed.time_s, speed.values)
        n = np.interp(at, engine.time_s, engine.values)
        seen.setdefault(gear, []).append(n[v > SLOWEST_MPS] / v[v > SLOWEST_MPS])
    centres = {gear: _centre(np.concatenate(parts)) for gear, parts in seen.items()}
    return {gear: c for gear, c in sorted(centres.items()) if c is not None}


def _centre(ratios: np.ndarray) -> float | None:
    """Where the ratios heap up: the clutch is closed there; None where they do not."""
    if ratios.size < LEAST_SAMPLES:
        return None
    logs = np.log(ratios[ratios > 0])
    centre = float(np.median(logs))
    for _ in range(3):
        near = logs[np.abs(logs - centre) < 0.05]
        if near.size < LEAST_SAMPLES / 2:
            return None
        centre = float(np.median(near))
    return float(np.exp(centre)) if robust_sigma(near) < 0.03 else None


def check_profile(learnt: Mapping[str, float], car: Car) -> tuple[str, ...]:
    """One line for each thing in the profile's ratios that engine and vehicle speed contradict, with the figures."""
    off = {g: r / known - 1 for g, r in learnt.items() if (known := car.rpm_per_mps(g))}
    if not off:
        return ()
    if len(off) == 1:
        return _single_line(*next(iter(off.items())), learnt, car)
    common = float(np.median(list(off.values())))
    lines = []
    if abs(common) > COMMON_WITHIN:
        lines.append(
            f"car.toml: engine speed over vehicle speed is {100 * common:+.1f} % off the profile in all gears; "
            "check final_drive and the tyre"
        )
    for gear, share in off.items():
        if len(off) >= 3 and abs((1 + share) / (1 + common) - 1) > SINGLE_WITHIN:
            lines.append(
                f"car.toml, [gearbox] ratios: gear {gear} gives {learnt[gear] / 3.6:.1f} rpm per km/h in this drive, "
                f"the profile says {(car.rpm_per_mps(gear) or 0) / 3.6:.1f}; check its ratio"
            )
    return tuple(lines)


def _single_line(gear: str, share: float, learnt: Mapping[str, float], car: Car) -> tuple[str, ...]:
    """With one gear driven nothing tells its ratio from final drive and tyre."""
    if abs(share) <= COMMON_WITHIN:
        return ()
    return (
        f"car.toml: gear {gear}, the only one judged, gives {learnt[gear] / 3.6:.1f} rpm per km/h in this drive, the "
        f"profile says {(car.rpm_per_mps(gear) or 0) / 3.6:.1f}; check its ratio, final_drive and tyre",
    )
