"""What else differs between the two sets of drives and could look like the repair."""

from collections.abc import Callable, Sequence
from itertools import combinations

import numpy as np

from shiftlog.compare.alike import Bands
from shiftlog.compare.days import say_one_day, say_swapped
from shiftlog.compare.kinds import kind_of
from shiftlog.compare.places import knock_recorders
from shiftlog.compare.ratios import say_ratios
from shiftlog.compare.scales import has_other_scale, say_scale
from shiftlog.errors import CompareError
from shiftlog.model.result import DriveResult
from shiftlog.model.told import Told, tell

HAND_SHARE = 0.15
# Fewer shifts than this tell nothing of a hand.
LEAST_HAND = 3
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
    _check_once(before, after)


def _check_once(before: Sequence[DriveResult], after: Sequence[DriveResult]) -> None:
    """CompareError where one drive is given twice: it would count as two, or stand on both sides."""
    given = [(r, "before") for r in before] + [(r, "after") for r in after]
    for (one, side), (other, other_side) in combinations(given, 2):
        one_name = one.head.id == other.head.id
        if side == other_side and one_name and (_same_logs(one, other) or not one.inputs):
            raise CompareError(f"drive {other.head.id} is given twice {side}; name it once")
        if side != other_side and one_name and (_same_logs(one, other) or not one.inputs):
            raise CompareError(f"drive {one.head.id} stands on both sides; name it before or after, not both")


def _same_logs(one: DriveResult, other: DriveResult) -> bool:
    """Two folders of one name are two drives where their logs differ."""
    logs = [sorted(f.sha256 for f in r.inputs) for r in (one, other)]
    return bool(logs[0]) and logs[0] == logs[1]


def find_caveats(
    before: Sequence[DriveResult], after: Sequence[DriveResult], hand: float | None
) -> tuple[str, ...]:  # fmt: skip
    """One sentence for each thing other than the repair that differs; hand : how much harder it was after."""
    finders: tuple[Callable[..., str | None], ...] = (
        say_swapped, lambda *_: _say_hand_caveat(hand), _temperature, _driver, say_one_day, _recorders, _lacking,
        say_ratios, say_scale, _made_by, _placed,
    )  # fmt: skip
    return tuple(line for find in finders if (line := find(before, after)))


def _like_medians(
    before: Sequence[DriveResult], after: Sequence[DriveResult], key: str, bands: Bands | None = None
) -> tuple[float, float] | None:
    """Means of the drive medians on each side, over the kinds of shift that both have, or None."""
    sides = [medians_by_kind(side, key, bands) for side in (before, after)]
    shared = sides[0].keys() & sides[1].keys()
    if not shared:
        return None
    first, second = (float(np.mean([np.mean(side[k]) for k in sorted(shared)])) for side in sides)
    return first, second


def medians_by_kind(side: Sequence[DriveResult], key: str, bands: Bands | None) -> dict[str, list[float]]:
    """Drive medians of a figure by kind of shift, shifts under way only, and only those within the bands."""
    medians: dict[str, list[float]] = {}
    for result in side:
        values: dict[str, list[float]] = {}
        for shift in result.shifts:
            if (value := shift.value(key)) is None or shift.standing:
                continue
            if bands is None or bands.why_outside(shift) is None:
                values.setdefault(kind_of(shift), []).append(float(value))
        for kind, found in values.items():
            medians.setdefault(kind, []).append(float(np.median(found)))
    return medians


def _count(side: Sequence[DriveResult], key: str) -> int:
    return sum(s.value(key) is not None and not s.standing for result in side for s in result.shifts)


def find_hand(before: Sequence[DriveResult], after: Sequence[DriveResult], bands: Bands) -> float | None:
    """By what share the hand was harder after (below 0 gentler); None where it was about the same or is not known.

    Of the shifts that count, within the bands both sides drove; of all where no such shift is left.
    """
    key = "approach_speed_mmps"
    if min(_count(side, key) for side in (before, after)) < LEAST_HAND or has_other_scale((*before, *after)):
        return None
    medians = _like_medians(before, after, key, bands) or _like_medians(before, after, key)
    if medians is None or medians[0] <= 0 or abs(medians[1] / medians[0] - 1) < HAND_SHARE:
        return None
    return medians[1] / medians[0] - 1


def say_hand(hand: float | None) -> Told | None:
    """`the hand was 30 % gentler after`, or None."""
    if hand is None:
        return None
    percent = round(100 * abs(hand))
    if hand < 0:
        return tell("hand.was_gentler", f"the hand was {percent} % gentler after", percent=percent)
    return tell("hand.was_harder", f"the hand was {percent} % harder after", percent=percent)


def _say_hand_caveat(hand: float | None) -> Told | None:
    said = say_hand(hand)
    return said and tell("caveat.hand", f"{said}: times and knocks follow the hand", said=said)


def _temperature(before: Sequence[DriveResult], after: Sequence[DriveResult]) -> str | None:
    medians = _like_medians(before, after, "gearbox_temp_c")
    if medians is None or abs(medians[1] - medians[0]) < TEMPERATURE_K:
        return None
    first, second = (round(temp_c) for temp_c in medians)
    said = f"the gearbox was at {first} °C before and {second} °C after: cold oil drags"
    return tell("caveat.temperature", said, before=first, after=second)


def _driver(before: Sequence[DriveResult], after: Sequence[DriveResult]) -> str | None:
    drivers = [{r.head.driver for r in side if r.head.driver} for side in (before, after)]
    if not all(drivers) or drivers[0] == drivers[1]:
        return None
    first, second = (", ".join(sorted(side)) for side in drivers)
    return tell(
        "caveat.driver", f"driver {first} before, {second} after: hands differ", before=first, after=second
    )  # fmt: skip


def _recorders(before: Sequence[DriveResult], after: Sequence[DriveResult]) -> str | None:
    sides = [{rec.place for r in side for rec in knock_recorders(r)} for side in (before, after)]
    if all(sides) and sides[0] != sides[1]:
        first, second = (_say_places(side) for side in sides)
        said = f"recorders sat at {first} before and at {second} after: knocks are compared place by place only"
        return tell("caveat.recorders", said, before=first, after=second)
    rates = [_knock_rate(side) for side in (before, after)]
    if all(rates) and abs(rates[1] / rates[0] - 1) > RATE_SHARE:
        first, second = (round(rate) for rate in rates)
        said = f"the knocks were sampled at {first} Hz before and {second} Hz after: their band differs"
        return tell("caveat.rates", said, before=first, after=second)
    return None


def _lacking(before: Sequence[DriveResult], after: Sequence[DriveResult]) -> str | None:
    """Recorders that some drives have and others have not: what they lack is compared over the others alone."""
    drives = (*before, *after)
    places = [{rec.place for rec in r.recordings} for r in drives]
    lacks = {
        p: [r.head.id for r, own in zip(drives, places, strict=True) if p not in own] for p in set().union(*places)
    }
    told = tuple(_say_without(place, ", ".join(names)) for place, names in sorted(lacks.items()) if names)
    if not told:
        return None
    said = f"without a recorder that other drives have at the {'; '.join(told)}; they count only in what they can show"
    return tell("caveat.lacking", said, without=told)


def _say_without(place: str, names: str) -> Told:
    return tell("caveat.without", f"{place}: {names}", place=tell(f"place.{place}", place), names=names)


def _say_places(places: set[str]) -> Told:
    told = tuple(tell(f"place.{place}", place) for place in sorted(places)) or (tell("place.none", "none"),)
    return tell("places.list", ", ".join(told), places=told)


def _knock_rate(side: Sequence[DriveResult]) -> float:
    rates = [knock_recorders(r)[0].quality.rate_hz for r in side if knock_recorders(r)]
    return float(np.median(rates)) if rates else 0.0


def _made_by(before: Sequence[DriveResult], after: Sequence[DriveResult]) -> str | None:
    drives = (*before, *after)
    if all(r.version == drives[0].version and dict(r.settings) == dict(drives[0].settings) for r in drives):
        return None
    said = "the drives were measured by different versions or settings: measure them again before comparing"
    return tell("caveat.made_by", said)


def _placed(before: Sequence[DriveResult], after: Sequence[DriveResult]) -> str | None:
    drives = (*before, *after)
    lost = ", ".join(f"{r.head.id}: {rec.name}" for r in drives for rec in r.recordings if rec.clock.offset_s is None)
    return tell("caveat.placed", f"not placed in time and so not used: {lost}", recordings=lost) if lost else None
