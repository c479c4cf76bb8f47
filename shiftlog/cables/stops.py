"""Which stops of the gate a setting is made from, and what is refused for want of them."""

from collections.abc import Sequence

from shiftlog.cables.say_stops import name_all
from shiftlog.errors import CannotMeasure
from shiftlog.model.cables import Clearance, Coupling, Stop
from shiftlog.model.car import Car

SIDE_WANTED_MM = 0.5
"""Room across the gate that a lever in gear should keep (common practice, no source)."""
WAYS = {1: ("forward", "rearward"), -1: ("rearward", "forward")}


def choose_counted(clearances: Sequence[Clearance], car: Car) -> list[Clearance]:
    """Those of the gate's own stops. CannotMeasure where they do not bound the engage cable from both sides."""
    counted = [c for c in clearances if not c.soft]
    if not counted:
        raise CannotMeasure("every stop gives with force: none of them is the gate's, and there is nothing to set by")
    ways = {c.way for c in counted}
    if len(ways) == 1:
        raise CannotMeasure(_say_one_way(clearances, counted, car))
    return counted


def _say_one_way(clearances: Sequence[Clearance], counted: Sequence[Clearance], car: Car) -> str:
    way = counted[0].way
    here, there = WAYS[way]
    found = ", ".join(f"{c.gear}: {c.clearance_mm:.1f} mm" for c in counted)
    soft = [c.gear for c in clearances if c.soft and c.way != way]
    press = [g for g in list_gears(car, -way) if g not in soft]
    first = f"only gears that lie {here} were pressed home against a stop of the gate ({found})"
    takes = f"what a change of the engage cable gives them it takes from the gears that lie {there}"
    gives = f"; the stop of {name_all(soft)} gives with force and is not the gate's" if soft else ""
    what = f": press {name_all(press) or 'those'} home as well" if press or not soft else ""
    return f"{first}, and {takes}{what}{gives}"


def list_gears(car: Car, way: int | None = None) -> tuple[str, ...]:
    """Gears of the car's gate, of one way or of both; none where the gate is not known."""
    planes = car.gate.planes if car.gate else ()
    forward, rear = ([g for g in gears if g] for gears in ([p.forward for p in planes], [p.rear for p in planes]))
    return tuple(forward if way == 1 else rear if way == -1 else (*forward, *rear))


def list_stops(counted: Sequence[Clearance], coupling: Coupling) -> tuple[Stop, ...]:
    """Stops along the gate, then those across it where the lever was pressed to both sides: one side alone bounds
    nothing."""
    along, across = coupling.engage_per_select, coupling.select_per_engage
    stops = [
        Stop(gear=c.gear, side="home", room_mm=c.clearance_mm, wanted_mm=c.wanted_mm, takes=(c.way, c.way * along),
             u_mm=c.u_mm, at_most=c.leans)
        for c in counted
    ]  # fmt: skip
    sides = [
        Stop(gear=c.gear, side=side, room_mm=room, wanted_mm=SIDE_WANTED_MM, takes=(sign * across, sign),
             u_mm=(c.left_u_mm if sign < 0 else c.right_u_mm) or c.u_mm, at_most=room <= 0)
        for side, sign in (("left", -1), ("right", 1))
        for c in counted
        if (room := c.left_mm if sign < 0 else c.right_mm) is not None
    ]  # fmt: skip
    return (*stops, *sides) if len({stop.side for stop in sides}) == 2 else tuple(stops)
