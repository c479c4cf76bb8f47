"""What drives say of the lever in neutral, as the JSON document that other tools read."""

from dataclasses import asdict

from shiftlog.model.neutral import NearMiss, NeutralReport, Reach, RestGroup
from shiftlog.neutral.words import CAUTIONS, say_miss

FORMAT = 1


def report_to_document(report: NeutralReport) -> dict:
    """Plain values only; figures as result documents write them."""
    return {
        "format": FORMAT,
        "car": report.car,
        "drives": list(report.drives),
        "home": report.home,
        "redline_rpm": report.redline_rpm,
        "fastest_mps": report.fastest_mps,
        "groups": [_group(group) for group in report.groups],
        "stays_on_the_way": report.stays_on_the_way,
        "reach": [_reach(reach) for reach in report.reach],
        "near_misses": [_miss(miss) for miss in report.near_misses],
        "unchecked": report.unchecked,
        "tests": [{"drive": of.drive, **asdict(of.test)} for of in report.tests],
        "says": list(report.says),
        "cautions": list(CAUTIONS),
        "notes": list(report.notes),
    }


def _group(group: RestGroup) -> dict:
    known = group.readings.values()
    return {
        "moving": group.moving, "band": group.band, "released": group.released, "guided": group.guided,
        "unknown": group.unknown, "unmoved": group.unmoved, "unmoved_elsewhere": group.unmoved_elsewhere,
        "unmoved_apart_mm": group.unmoved_apart_mm, "in_bends": group.in_bends,
        "wrong_plane": None if group.wrong_plane is None else asdict(group.wrong_plane),
        "manners": dict(group.manners), **{r.key: r.value for r in known},
        "uncertainty": {r.key: r.uncertainty for r in known if r.uncertainty is not None},
        "interval95": {r.key: list(r.interval95) for r in known if r.interval95 is not None},
        "unmeasured": {**group.unmeasured, **{r.key: r.why for r in known if r.why is not None}},
    }  # fmt: skip


def _reach(reach: Reach) -> dict:
    at = [{"vehicle_speed_mps": v, "rpm": rpm} for v, rpm in reach.rpm_at.items()]
    return {
        "plane": reach.plane, "home": reach.home, "gear": reach.gear, "rests": reach.rests,
        "rpm_per_mps": reach.rpm_per_mps, "over_rev_above_mps": reach.over_rev_above_mps, "at": at, "why": reach.why,
    }  # fmt: skip


def _miss(miss: NearMiss) -> dict:
    return {**asdict(miss), "says": say_miss(miss)}
