"""All that drives of one car say of the lever in neutral."""

from collections.abc import Sequence
from dataclasses import replace

from shiftlog.errors import CannotMeasure
from shiftlog.measure.gearing import choose_ratios
from shiftlog.model.car import Car
from shiftlog.model.neutral import DriveTest, NeutralReport
from shiftlog.model.result import DriveResult
from shiftlog.model.shift import Shift
from shiftlog.neutral.exposure import find_near_misses, find_reach, say_as_driven, say_unchecked
from shiftlog.neutral.groups import group_rests
from shiftlog.neutral.words import say_report

KINDS = ("release", "straight_push", "lockout")
"""Guided tests that speak of neutral."""
STOOD_S = 1.0
"""A pause on the way from gear to gear of so long may be a lever that was let go and that friction held."""
USUAL_KMH = (30, 50, 70, 90, 110, 130)


def report_neutral(
    results: Sequence[DriveResult], car: Car, *, speeds_mps: Sequence[float] | None = None
) -> NeutralReport:
    """Rests by group, over-rev exposure at the speeds given, near misses, and the guided tests.

    speeds_mps : speeds asked for [m/s]; without them usual ones up to the fastest driven, and that one itself.
    CannotMeasure where no drive holds a lever whose gate is known.
    """
    with_gate = [result for result in results if result.gate is not None]
    if not with_gate:
        raise CannotMeasure("; ".join(f"{r.head.id}: {r.gate_why or 'no lever was logged'}" for r in results))
    layout = with_gate[-1].gate.layout
    fastest = max((f for r in with_gate if (f := r.summary.fastest_mps) is not None), default=None)
    learnt = {gear: ratio for r in with_gate for gear, ratio in r.summary.learnt_rpm_per_mps.items()}
    ratios = choose_ratios(car, learnt)
    without = [f"{r.head.id}: {r.gate_why or 'no lever was logged'}" for r in results if r.gate is None]
    as_driven = say_as_driven(car, ratios)
    speeds = list(speeds_mps) if speeds_mps else _usual(fastest)
    report = NeutralReport(
        car=car.name, drives=tuple(r.head.id for r in with_gate), home=layout.home,
        groups=group_rests(with_gate, layout),
        reach=find_reach(with_gate, layout, car, ratios, speeds),
        near_misses=find_near_misses(with_gate, car), unchecked=say_unchecked(with_gate, layout, car),
        redline_rpm=car.redline_rpm, fastest_mps=fastest,
        stays_on_the_way=sum(_stood(shift) for r in with_gate for shift in r.shifts),
        tests=tuple(
            DriveTest(drive=r.head.id, test=test) for r in with_gate for test in r.guided if test.kind in KINDS
        ),
        notes=(*without, *((as_driven,) if as_driven else ())),
    )  # fmt: skip
    return replace(report, says=say_report(report))


def _stood(shift: Shift) -> bool:
    took = shift.value("neutral_time_s")
    return shift.paused is True and took is not None and took >= STOOD_S


def _usual(fastest_mps: float | None) -> list[float]:
    usual = [kmh / 3.6 for kmh in USUAL_KMH]
    return usual if fastest_mps is None else [v for v in usual if v < fastest_mps] + [fastest_mps]
