"""What a push straight in from where the lever rests would do to the engine.

n = v / (2π r) · i_gear · i_final · 60.
"""

from collections.abc import Mapping, Sequence

from shiftlog.model.car import Car, GateLayout
from shiftlog.model.neutral import NearMiss, Reach
from shiftlog.model.result import DriveResult
from shiftlog.neutral.groups import STANDING_MPS

NO_RATIO = "its ratio is not known: add ratios, final drive and tyre to car.toml"
NO_REDLINE = "the redline is not known: add redline_rpm to car.toml"
MOST_MISSES = 20


def find_reach(
    results: Sequence[DriveResult], layout: GateLayout, car: Car, rpm_per_mps: Mapping[str, float],
    speeds_mps: Sequence[float],
) -> tuple[Reach, ...]:  # fmt: skip
    """Every gear straight ahead or behind of a plane the lever was found resting in, from left to right.

    A lever that a hand holds somewhere does not rest there.
    """
    lay = [rest.plane for result in results for rest in result.rests if rest.released is not False]
    return tuple(
        _reach(plane.name, gear, lay.count(plane.name), layout, car, rpm_per_mps.get(gear), speeds_mps)
        for plane in layout.planes
        for gear in (plane.forward, plane.rear)
        if gear and plane.name in lay
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

    None where the redline is not known. One rest may hold two: the gear ahead and the gear behind.
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
        if (speed := rest.value("vehicle_speed_mps")) is not None and speed >= STANDING_MPS
        for gear, rpm in rest.over_rev_if.items()
        if rpm > car.redline_rpm
    ]  # fmt: skip
    return tuple(sorted(found, key=lambda miss: -miss.rpm)[:MOST_MISSES])
