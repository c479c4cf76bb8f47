"""What a push straight in from where the lever rests would do to the engine.

n = v / (2π r) · i_gear · i_final · 60.
"""

from collections.abc import Mapping, Sequence

from shiftlog.model.car import Car, GateLayout
from shiftlog.model.neutral import NearMiss, Reach
from shiftlog.model.rest import Rest
from shiftlog.model.result import DriveResult
from shiftlog.neutral.groups import STANDING_MPS

NO_RATIO = "its ratio is not known: add ratios, final drive and tyre to car.toml"
NO_REDLINE = "the redline is not known: add redline_rpm to car.toml"
NO_SPEED = (
    "{n} rests out of home were not held against the redline, as vehicle speed was not logged there: log it from the "
    "car's bus or a GPS receiver"
)
GEAR_UNKNOWN = "what {gears} would have meant is not known: add ratios, final drive and tyre to car.toml"
AS_DRIVEN = (
    "engine speed over vehicle speed as driven is not the profile's ({gears}): over-rev speeds go by what was driven; "
    "look at ratios, final drive and tyre in car.toml"
)


def say_as_driven(car: Car, rpm_per_mps: Mapping[str, float]) -> str | None:
    """That the drive's own ratios were used, by gear and share, where the profile's do not fit them; None elsewhere."""
    off = {g: r / own - 1 for g, r in rpm_per_mps.items() if (own := car.rpm_per_mps(g)) and r != own}
    return AS_DRIVEN.format(gears=", ".join(f"{g} {100 * off[g]:+.0f} %" for g in sorted(off))) if off else None


def find_reach(
    results: Sequence[DriveResult], layout: GateLayout, car: Car, rpm_per_mps: Mapping[str, float],
    speeds_mps: Sequence[float],
) -> tuple[Reach, ...]:  # fmt: skip
    """Every gear straight ahead or behind of a plane the lever was found resting in, from left to right.

    A lever that a hand holds somewhere does not rest there, and is not counted; its plane stands in the table all the
    same where it lay out of home under way.
    """
    rests = [rest for result in results for rest in result.rests]
    lay = [rest.plane for rest in rests if rest.released is not False]
    found = {*lay, *(rest.plane for rest in rests if rest.plane != layout.home and _is_under_way(rest))}
    return tuple(
        _reach(plane.name, gear, lay.count(plane.name), layout, car, rpm_per_mps.get(gear), speeds_mps)
        for plane in layout.planes
        for gear in (plane.forward, plane.rear)
        if gear and plane.name in found
    )


def _reach(
    plane: str, gear: str, rests: int, layout: GateLayout, car: Car, ratio: float | None, speeds_mps: Sequence[float]
) -> Reach:
    limit = car.redline_rpm / ratio if car.redline_rpm and ratio else None
    return Reach(
        plane=plane, home=plane == layout.home, gear=gear, rests=rests, rpm_per_mps=ratio, over_rev_above_mps=limit,
        rpm_at={} if ratio is None else {float(v): float(v) * ratio for v in speeds_mps},
        why=NO_RATIO if ratio is None else NO_REDLINE if limit is None else None,
    )  # fmt: skip


def find_near_misses(results: Sequence[DriveResult], car: Car) -> tuple[NearMiss, ...]:
    """Rests under way out of home in which a straight push would have over-revved the engine, the worst first.

    Empty where the redline is not known. One rest may hold two: the gear ahead and the gear behind.
    """
    if car.redline_rpm is None:
        return ()
    found = [
        NearMiss(
            drive=result.head.id, at_s=rest.start_s, plane=rest.plane, gear=gear, lay_s=rest.end_s - rest.start_s,
            vehicle_speed_mps=float(speed), rpm=float(rpm), released=rest.released,
        )
        for result in results
        for rest in result.rests
        if _is_under_way(rest) and (speed := rest.value("vehicle_speed_mps")) is not None
        for gear, rpm in rest.over_rev_if.items()
        if rpm > car.redline_rpm
    ]  # fmt: skip
    return tuple(sorted(found, key=lambda miss: -miss.rpm))


def say_unchecked(results: Sequence[DriveResult], layout: GateLayout, car: Car) -> str | None:
    """Why some rests out of home, or all of them, could not be held against the redline; None where all were."""
    if car.redline_rpm is None:
        return NO_REDLINE
    away = [
        rest
        for result in results
        for rest in result.rests
        if rest.plane != layout.home and not any(t.start_s <= rest.start_s <= t.end_s for t in result.tests)
    ]
    blind = sum(rest.value("vehicle_speed_mps") is None for rest in away)
    gears = {
        gear
        for rest in away
        if _is_under_way(rest)
        for plane in layout.planes
        if plane.name == rest.plane
        for gear in (plane.forward, plane.rear)
        if gear and gear not in rest.over_rev_if
    }
    said = [NO_SPEED.format(n=blind)] if blind else []
    said += [GEAR_UNKNOWN.format(gears=" and ".join(sorted(gears)))] if gears else []
    return "; ".join(said) or None


def _is_under_way(rest: Rest) -> bool:
    speed = rest.value("vehicle_speed_mps")
    return speed is not None and speed >= STANDING_MPS
