"""What else differs between the two sets of drives and could look like the repair."""

from collections.abc import Callable, Sequence

import numpy as np

from shiftlog.errors import CompareError
from shiftlog.model.result import DriveResult

HAND_SHARE = 0.15
TEMPERATURE_K = 10.0
RATE_SHARE = 0.1


def check_same_car(before: Sequence[DriveResult], after: Sequence[DriveResult]) -> None:
    """CompareError where the drives are of different cars or gates."""
    if not before or not after:
        raise CompareError("a comparison needs at least one drive before and one after")
    cars = {r.car for r in (*before, *after)}
    if len(cars) > 1:
        raise CompareError(f"these drives are of different cars ({', '.join(sorted(cars))}); compare drives of one car")
    gates = {r.gate.layout.gears for r in (*before, *after) if r.gate}
    if len(gates) > 1:
        raise CompareError("these drives have profiles with different gates; measure them with one car.toml")
    twice = {r.head.id for r in before} & {r.head.id for r in after}
    if twice:
        raise CompareError(f"drive {sorted(twice)[0]} stands on both sides; name it before or after, not both")


def find_caveats(before: Sequence[DriveResult], after: Sequence[DriveResult]) -> tuple[str, ...]:
    """One sentence for each thing other than the repair that differs."""
    finders: tuple[Callable[..., str | None], ...] = (_hand, _temperature, _driver, _recorders, _placed)
    return tuple(line for find in finders if (line := find(before, after)))


def _median_of(results: Sequence[DriveResult], key: str) -> float | None:
    medians = []
    for result in results:
        values = [v for s in result.shifts if (v := s.value(key)) is not None and not s.standing]
        if values:
            medians.append(float(np.median(values)))
    return float(np.mean(medians)) if medians else None


def _hand(before: Sequence[DriveResult], after: Sequence[DriveResult]) -> str | None:
    first, second = _median_of(before, "approach_speed_mmps"), _median_of(after, "approach_speed_mmps")
    if first is None or second is None or abs(second / first - 1) < HAND_SHARE:
        return None
    word = "gentler" if second < first else "harder"
    return f"the hand was {abs(second / first - 1):.0%} {word} after: times and knocks follow the hand"


def _temperature(before: Sequence[DriveResult], after: Sequence[DriveResult]) -> str | None:
    first, second = _median_of(before, "gearbox_temp_c"), _median_of(after, "gearbox_temp_c")
    if first is None or second is None:
        return None
    if abs(second - first) < TEMPERATURE_K:
        return None
    return f"the gearbox was at {first:.0f} °C before and {second:.0f} °C after: cold oil drags"


def _driver(before: Sequence[DriveResult], after: Sequence[DriveResult]) -> str | None:
    drivers = [{r.head.driver for r in side if r.head.driver} for side in (before, after)]
    if not all(drivers) or drivers[0] == drivers[1]:
        return None
    return f"driver {', '.join(sorted(drivers[0]))} before, {', '.join(sorted(drivers[1]))} after: hands differ"


def _recorders(before: Sequence[DriveResult], after: Sequence[DriveResult]) -> str | None:
    sides = [{rec.place for r in side for rec in r.recordings} for side in (before, after)]
    if sides[0] != sides[1]:
        words = [", ".join(sorted(s)) or "none" for s in sides]
        return f"recorders sat at {words[0]} before and at {words[1]} after: knocks are compared place by place only"
    rates = [_gearbox_rate(side) for side in (before, after)]
    if all(rates) and abs(rates[1] / rates[0] - 1) > RATE_SHARE:
        return f"the gearbox recorder ran at {rates[0]:.0f} Hz before and {rates[1]:.0f} Hz after: its band differs"
    return None


def _gearbox_rate(side: Sequence[DriveResult]) -> float:
    rates = [rec.quality.rate_hz for r in side for rec in r.recordings if rec.place in ("gearbox", "lever")]
    return float(np.median(rates)) if rates else 0.0


def _placed(before: Sequence[DriveResult], after: Sequence[DriveResult]) -> str | None:
    lost = [f"{r.head.id}: {rec.name}" for r in (*before, *after) for rec in r.recordings if rec.clock.offset_s is None]
    return f"not placed in time and so not used: {', '.join(lost)}" if lost else None


def knock_place(result: DriveResult) -> str | None:
    """Where the recorder of the knocks sat, or None."""
    places = {rec.place for rec in result.recordings}
    return next((p for p in ("gearbox", "lever") if p in places), None)
