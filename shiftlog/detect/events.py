"""The lever's story as a list: stays in gear and refused pushes, in order of time."""

from dataclasses import dataclass

from shiftlog.detect.lever import Excursion, find_excursions
from shiftlog.detect.phases import (
    Push,
    find_arrival,
    find_fall,
    find_first_rise,
    find_last_rise,
    find_pushes,
    local_seat_arriving,
    local_seat_leaving,
)
from shiftlog.model.lever import LeverPath
from shiftlog.model.settings import Settings


@dataclass(frozen=True, eq=False, kw_only=True)
class Stay:
    """A stay in gear, with the ways in and out.

    entered_s, left_s : neutral left (depth through 0.1) and neutral reached again, or the log's ends
    in_s, arrived_s : last rises through 0.5 and 0.9; leaves_s, out_s : last falls through 0.9 and 0.5
    pushes : attempts at this gear within the same excursion, the one that went in last
    begins_log, ends_log : the log begins or ends (or has a gap) while the lever is in this gear
    """

    gear: str
    excursion: Excursion
    entered_s: float
    in_s: float
    arrived_s: float
    leaves_s: float
    out_s: float
    left_s: float
    seat_in_mm: float
    seat_out_mm: float
    pushes: tuple[Push, ...]
    begins_log: bool
    ends_log: bool


@dataclass(frozen=True, eq=False, kw_only=True)
class Refusal:
    """A trip at a gear that did not stay in: one or more refused pushes."""

    gear: str | None
    excursion: Excursion
    entered_s: float
    left_s: float
    pushes: tuple[Push, ...]


Event = Stay | Refusal


def find_events(path: LeverPath, settings: Settings) -> tuple[tuple[Event, ...], tuple[Excursion, ...]]:
    """Stays and refusals in order; and the trips that were neither (the lever was moved, nothing was tried)."""
    events: list[Event] = []
    brushes = []
    for excursion in find_excursions(path, settings):
        if excursion.stays:
            events.append(_stay(path, excursion, settings))
            continue
        pushes = find_pushes(path, excursion, excursion.seat_mm, settings)
        if pushes:
            events.append(_refusal(path, excursion, pushes, settings))
        else:
            brushes.append(excursion)
    return tuple(events), tuple(brushes)


def _refusal(path: LeverPath, excursion: Excursion, pushes: tuple[Push, ...], settings: Settings) -> Refusal:
    low = settings.depth_low
    return Refusal(
        gear=excursion.gear, excursion=excursion, pushes=pushes,
        entered_s=find_first_rise(path, excursion, excursion.seat_mm, low),
        left_s=find_fall(path, excursion, excursion.seat_mm, low, pushes[-1].top),
    )  # fmt: skip


def _stay(path: LeverPath, excursion: Excursion, settings: Settings) -> Stay:
    first, last = excursion.stays[0], excursion.stays[-1]
    seat_in = local_seat_arriving(path, first, excursion, settings)
    seat_out = local_seat_leaving(path, last, excursion, settings)
    arrived = find_arrival(path, excursion, seat_in, first, settings)
    pushes = find_pushes(path, excursion, seat_in, settings, until_s=arrived)
    assert excursion.gear is not None
    return Stay(
        gear=excursion.gear, excursion=excursion, seat_in_mm=seat_in, seat_out_mm=seat_out, pushes=pushes,
        entered_s=find_first_rise(path, excursion, seat_in, settings.depth_low), arrived_s=arrived,
        in_s=find_last_rise(path, excursion, seat_in, settings.depth_mid, arrived),
        leaves_s=find_fall(path, excursion, seat_out, settings.depth_high, last[0]),
        out_s=find_fall(path, excursion, seat_out, settings.depth_mid, last[0]),
        left_s=find_fall(path, excursion, seat_out, settings.depth_low, last[0]),
        begins_log=not _bounded(path, excursion.start - 1), ends_log=not _bounded(path, excursion.stop),
    )  # fmt: skip


def _bounded(path: LeverPath, index: int) -> bool:
    """Whether the lever was seen in neutral at this side of an excursion (not a gap, not the log's end)."""
    return 0 <= index < path.time_s.size and bool(path.valid[index])
