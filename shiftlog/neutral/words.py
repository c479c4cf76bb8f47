"""What the rests mean, in words a technician can act on."""

from shiftlog.model.car import REVERSE
from shiftlog.model.neutral import NearMiss, NeutralReport, RestGroup
from shiftlog.model.rest import CREEPS
from shiftlog.model.share import Share
from shiftlog.units import as_percent

CAUTIONS = (
    "Never try it out: over-revving destroys engines, and no test here asks for it.",
    "A clutch held down does not save a wrong low gear: the synchroniser spins the clutch disc up to that speed, and "
    "the disc can burst.",
    "A figure is no certificate of roadworthiness. Work on a gearshift is for trained people.",
)
RELEASE_TEST = "the release test at standstill, ten let-goes from each side, makes every let-go count"
SAID_MISSES = 3
ONE_SIDE = "How far its rests lie apart when let go from right and left takes let-goes from both sides"
ORDINALS = {"1": "first", "2": "second", "3": "third", "4": "fourth", "5": "fifth", "6": "sixth", "7": "seventh",
            "R": "reverse"}  # fmt: skip


def say_report(report: NeutralReport) -> tuple[str, ...]:
    """The answer first: where the lever rests; then how it gets there; then what it came near to."""
    rests = worst_misses(report)
    lines = [_capital(say_miss(miss)) for miss in rests[:SAID_MISSES]]
    lines += [f"There were {len(rests)} such moments in all."] if len(rests) > SAID_MISSES else []
    lines += [f"{_capital(report.unchecked)}."] if report.unchecked else []
    return (*say_rests(report), *lines)


def say_rests(report: NeutralReport) -> tuple[str, ...]:
    """Where the lever rests, and how it gets there."""
    if not report.groups:
        return (f"The lever never lay in neutral for 0.3 s in these drives: {RELEASE_TEST}.",)
    alone = len(report.groups) == 1
    said = [_say_group(group, report.home, alone=alone) for group in report.groups if group.released]
    said += _no_release(report) if not said else [] if _any_apart(report) else [f"{ONE_SIDE}: {RELEASE_TEST}."]
    return (*said, *_of_the_test(report), *_unmoved(report), *_on_the_way(report))


def _of_the_test(report: NeutralReport) -> list[str]:
    """What the hysteresis of a release test is of, where rests beside its let-goes stand in the groups."""
    tests = [of.test for of in report.tests if of.test.kind == "release"]
    told = [f for t in tests if (f := t.figure("hysteresis_mm")) is not None and f.value is not None]
    if not told or not _any_apart(report):
        return []
    inside = sum(t.start_s <= r.start_s <= t.end_s for g in report.groups for r in g.rests for t in tests)
    if inside >= sum(len(group.rests) for group in report.groups) and len(told) == 1:
        return []
    apart = " and ".join(f"{f.value:+.1f} mm" for f in told)
    one = "the release test's own let-goes" if len(told) == 1 else "the let-goes of each release test"
    return [f"How far right and left lie apart is told of all rests of a group; over {one} alone it is {apart}."]


def _on_the_way(report: NeutralReport) -> list[str]:
    n = report.stays_on_the_way
    if not n:
        return []
    return [
        f"{n} {'time' if n == 1 else 'times'} the lever stood in neutral for a second or more on its way to another "
        "gear. These count as pauses and as no rests: a lever that was let go and that friction holds looks alike."
    ]


def worst_misses(report: NeutralReport) -> list[NearMiss]:
    """The worst gear of each rest, the worst rests first."""
    rests: dict[tuple[str, float], NearMiss] = {}
    for miss in report.near_misses:
        rests.setdefault((miss.drive, miss.at_s), miss)
    return list(rests.values())


def _capital(text: str) -> str:
    return text[0].upper() + text[1:]


def _any_apart(report: NeutralReport) -> bool:
    return any(group.value("hysteresis_mm") is not None for group in report.groups)


def _no_release(report: NeutralReport) -> list[str]:
    n = sum(group.guided + group.unknown for group in report.groups)
    return [f"The lever lay in neutral {n} times, and to none of them did it surely run by itself: {RELEASE_TEST}."]


def _say_group(group: RestGroup, home: str | None, *, alone: bool) -> str:
    """One sentence: how often out of home, how far, how the sides differ, how it came there."""
    share = group.wrong_plane
    parts = [*_share(share, home), *_if_unknown(share), *_offset(group), *_apart(group), *_manner(group)]
    name = "Let go, the lever lay" if alone else f"{name_group(group)}: let go, the lever lay"
    return f"{name} {', '.join(parts)}." if parts else f"{name} {_where_it_lay(group)}."


def _share(share: Share | None, home: str | None) -> list[str]:
    return [] if share is None else [f"out of the {home} plane in {share.k} of {share.n} rests ({say_interval(share)})"]


def _where_it_lay(group: RestGroup) -> str:
    return f"in neutral {group.released} times; {group.unmeasured.get('wrong_plane', '')}"


def name_group(group: RestGroup) -> str:
    """As ``Under way, hot``."""
    moving = "Speed not known" if group.moving == "not known" else group.moving.capitalize()
    return moving if group.band == "not known" else f"{moving}, {group.band}"


def say_interval(share: Share) -> str:
    """The interval, or for none of n what that still allows."""
    if share.k == 0:
        return f"which still allows up to {as_percent(share.high)}"
    return f"95 % interval {as_percent(share.low)} to {as_percent(share.high)}"


def _if_unknown(share: Share | None) -> list[str]:
    span = None if share is None else share.if_unknown_counted
    if span is None or span[0] == span[1]:
        return []
    return [f"{as_percent(span[0])} to {as_percent(span[1])} if every rest counted of which the release is not known"]


def _offset(group: RestGroup) -> list[str]:
    offset = group.value("offset_mm")
    if offset is None:
        return []
    return [f"{abs(offset):.1f} mm {'right' if offset >= 0 else 'left'} of home in the median"]


def _apart(group: RestGroup) -> list[str]:
    reading = group.readings["hysteresis_mm"]
    if reading.value is None:
        return []
    span = reading.interval95
    doubt = "" if span is None else f" (95 % interval {span[0]:+.2f} to {span[1]:+.2f})"
    return [f"{reading.value:+.1f} mm apart when let go from right and left{doubt}"]


def _manner(group: RestGroup) -> list[str]:
    told, took = sum(group.manners.values()), group.value("return_time_s")
    if not told or took is None:
        return []
    creeps = group.manners.get(CREEPS, 0)
    dragged = ": dragged by friction" if 2 * creeps > told else ""
    ways = ", ".join(f"{way} {n}" for way, n in group.manners.items())
    return [f"there after {took:.2f} s in the median ({ways} of {told}{dragged})"]


def _unmoved(report: NeutralReport) -> list[str]:
    """The lever that makes no motion must not drop out for it."""
    n = sum(group.unmoved for group in report.groups)
    if not n:
        return []
    elsewhere = sum(group.unmoved_elsewhere for group in report.groups)
    where = f", {elsewhere} of them out of the {report.home} plane" if report.home else ""
    apart = [group.unmoved_apart_mm for group in report.groups if group.unmoved_apart_mm is not None]
    sides = f" Left on the right it lies {apart[0]:+.1f} mm from where it lies left on the left." if apart else ""
    return [
        f"In {n} {'rest' if n == 1 else 'rests'} the lever made no motion of its own and no hand was felt{where}."
        f"{sides} Friction that holds a lever where it was let go looks like this, and so does a still hand: "
        f"{RELEASE_TEST}."
    ]


def say_moment(at_s: float) -> str:
    """A moment of a drive: ``3 min 5 s``."""
    minutes, seconds = divmod(round(at_s), 60)
    return f"{minutes} min {seconds} s" if minutes else f"{seconds} s"


def say_miss(miss: NearMiss, speed: str | None = None) -> str:
    """As ``at 96 km/h, 3 min 5 s into before-1, the lever lay in the 1-2 plane for 2.1 s: first would have meant 11,480
    rpm``.

    speed : the vehicle speed in words, if not in km/h
    """
    gear = ORDINALS.get(miss.gear, miss.gear)
    at = speed or f"{miss.vehicle_speed_mps * 3.6:.0f} km/h"
    unless = ", had its lock-out not held" if miss.gear == REVERSE else ""
    return (
        f"at {at}, {say_moment(miss.at_s)} into {miss.drive}, the lever lay in the {miss.plane} plane for "
        f"{miss.lay_s:.1f} s: {gear} would have meant {miss.rpm:,.0f} rpm{unless}."
    )
