"""Each gear's seat: where the lever lies when let go, how sure that is, and what moves it."""

from dataclasses import dataclass, replace

import numpy as np

from shiftlog.model.drive import MarkedTest, Signals
from shiftlog.model.gate import GateMap
from shiftlog.model.lever import LeverPath
from shiftlog.model.reading import Reading, measured, unmeasured
from shiftlog.model.seats import SeatFigures
from shiftlog.model.settings import Settings
from shiftlog.model.shift import Shift
from shiftlog.neutral.seat_hand import FELT, FREE, UNKNOWN, why_no_hand
from shiftlog.neutral.seat_level import Level, find_level
from shiftlog.neutral.seat_moves import Move, measure_move
from shiftlog.neutral.seat_torque import Pull, find_pull
from shiftlog.neutral.seat_travel import RULER_SHARE
from shiftlog.neutral.seat_windows import Windows, cut_windows
from shiftlog.signal.robust import robust_sigma

USUAL_SPREAD_MM = 0.2
"""One stay against another of a sound lever (common practice, no source); it counts as much as so many stays."""
USUAL_STAYS = 2
FITTED_LEAST = 4
"""A map fitted to fewer seats passes through all of them, and none can be off its place."""
MEDIAN_WIDER = float(np.sqrt(np.pi / 2))
"""Standard deviation of a median over that of a mean, many normal values."""
KNOWN_LEAST = 0.5
"""Less of the time known than this, and a share of it says nothing."""
NEEDS_RULER = "depth needs a ruler once: give [gate] mm_per_unit in car.toml"
ONLY_SHORT = (
    "the lever never lay in {gear} for long enough: stay in it for three seconds and take the hand off the lever"
)
ONLY_TESTED = "in {gear} the lever was tried in a marked test alone: drive in it for a few seconds as well"
BY_HAND = "the hand was on the lever in {gear} all the time: drive in it for a few seconds with the hand off the lever"
NO_PLACE = "this gate map passes through all {n} seats it was fitted to: drive through four gears or more"


@dataclass(frozen=True, eq=False, kw_only=True)
class _Stays:
    """One gear of one drive. places (k, 2) by stay [mm]; free (k,) read without a hand, as far as could be known"""

    places: np.ndarray
    free: np.ndarray


def measure_seats(
    path: LeverPath, gate: GateMap, signals: Signals, shifts: tuple[Shift, ...], *,
    tests: tuple[MarkedTest, ...] = (), settings: Settings | None = None,
) -> tuple[SeatFigures, ...]:  # fmt: skip
    """The seats of one drive, those gears that the lever was in, by the order of the gate.

    path : the lever in gate mm; gate : its map; signals : what may tell drive from overrun; shifts, tests : the drive's
    """
    windows = cut_windows(path, shifts, settings or Settings(), tests)
    level = _find_level(windows, path, gate)
    windows = replace(windows, place=level.correct(windows.place))
    pull = find_pull(signals, windows.start_s, windows.end_s)
    return tuple(
        _measure(index, windows, pull, path, gate, level)
        for index in range(len(path.gears))
        if windows.in_gear_s[index] > 0 or np.any(windows.gear == index)
    )


def _find_level(windows: Windows, path: LeverPath, gate: GateMap) -> Level:
    """By the seats that were read with no hand on the lever."""
    stays = {path.gears[g]: _by_stay(windows, windows.gear == g) for g in np.unique(windows.gear)}
    counted = {gear: some.places[some.free] for gear, some in stays.items() if some.free.any()}
    u = {gear: _uncertainty(places, path, gate) for gear, places in counted.items()}
    return find_level({gear: np.median(places, axis=0) for gear, places in counted.items()}, u, gate)


def _measure(
    index: int, windows: Windows, pull: Pull | str, path: LeverPath, gate: GateMap, level: Level
) -> SeatFigures:  # fmt: skip
    gear, mine = path.gears[index], windows.gear == index
    stays = _by_stay(windows, mine)
    x, y = gate.layout.position_mm(gear)
    place = _place(gear, stays, path, gate)
    move = measure_move(gear, windows, mine & (windows.hand != FELT), pull, path)
    return SeatFigures(
        gear=gear, plane=gate.layout.planes[gate.layout.plane_of(gear)].name, way=int(np.sign(y)),
        stays=len(stays.places), drives=1, in_gear_s=float(windows.in_gear_s[index]), select_mm=place[0],
        engage_mm=place[1], hand_only=bool(len(stays.places) and not stays.free.any()), spread=_spread(stays),
        off_select_mm=_off("off_select_mm", place[0], x, gear, gate, level, 0),
        off_engage_mm=_off("off_engage_mm", place[1], y, gear, gate, level, 1),
        depth_mm=_depth(place[1], path, index, gate), hand_share=_hand_share(gear, windows, mine, path),
        **_moved(move),
    )  # fmt: skip


def _moved(move: Move) -> dict:
    return {
        "torque_engage_mm": move.engage, "torque_select_mm": move.select, "torque_by": move.by,
        "torque_span_mps2": move.span_mps2, "at_drive": move.at_drive, "at_overrun": move.at_overrun,
    }  # fmt: skip


def _by_stay(windows: Windows, mine: np.ndarray) -> _Stays:
    """Median of each stay, over the windows without a hand where there are some."""
    places, free = [], []
    for stay in np.unique(windows.stay[mine]):
        here = mine & (windows.stay == stay)
        let_go = here & (windows.hand != FELT)
        places.append(np.median(windows.place[let_go if let_go.any() else here], axis=0))
        free.append(bool(let_go.any()))
    return _Stays(places=np.array(places).reshape(-1, 2), free=np.array(free, bool))


def _counted(stays: _Stays) -> np.ndarray:
    """Stays without a hand, or all of them where there is none."""
    return stays.places[stays.free] if stays.free.any() else stays.places


def _place(gear: str, stays: _Stays, path: LeverPath, gate: GateMap) -> tuple[Reading, Reading]:
    keys = ("select_mm", "engage_mm")
    if not len(stays.places):
        return tuple(unmeasured(key, ONLY_SHORT.format(gear=gear)) for key in keys)
    if not stays.free.any():
        return tuple(unmeasured(key, BY_HAND.format(gear=gear)) for key in keys)
    counted = _counted(stays)
    middle, u = np.median(counted, axis=0), _uncertainty(counted, path, gate)
    return tuple(
        measured(key, float(m), uncertainty=float(s)) for key, m, s in zip(keys, middle, u, strict=True)
    )  # fmt: skip


def _uncertainty(places: np.ndarray, path: LeverPath, gate: GateMap) -> np.ndarray:
    """Of the median over stays, (2,) [mm]: their spread, with what is usual where they are few, the reading itself and
    what drifts."""
    count = len(places)
    own = robust_sigma(places) if count > 2 else np.zeros(2)
    spread = np.sqrt(
        (max(count - 1, 0) * own**2 + USUAL_STAYS * USUAL_SPREAD_MM**2) / (max(count - 1, 0) + USUAL_STAYS)
    )
    wider = MEDIAN_WIDER if count > 2 else 1.0
    return np.sqrt((wider * spread) ** 2 / count + (path.noise_mm**2 - gate.slow_mm**2) / 10 + gate.slow_mm**2)


def _spread(stays: _Stays) -> tuple[tuple[float, float], tuple[float, float]] | None:
    """Covariance of the stays, each axis scaled to its robust deviation, so that one odd stay does not make it."""
    places = _counted(stays)
    if len(places) < 3:
        return None
    sigma = np.asarray(robust_sigma(places))
    plain = np.cov(places.T)
    root = np.sqrt(np.maximum(np.diag(plain), 1e-12))
    correlation = float(np.clip(plain[0, 1] / (root[0] * root[1]), -0.95, 0.95))
    across = correlation * float(sigma[0] * sigma[1])
    return (float(sigma[0] ** 2), across), (across, float(sigma[1] ** 2))


def _off(
    key: str, place: Reading, where_mm: float, gear: str, gate: GateMap, level: Level, axis: int
) -> Reading:  # fmt: skip
    """Distance from the place in the lattice; the map that tells it is as uncertain as the seats leave it."""
    if place.value is None:
        return unmeasured(key, place.why or "")
    if len(level.u_mm) < FITTED_LEAST and gate.scale != "absolute":
        return unmeasured(key, NO_PLACE.format(n=len(level.u_mm)))
    u = float(np.hypot(place.uncertainty or 0.0, level.u_mm[gear][axis]))
    return measured(key, float(place.value) - where_mm, uncertainty=u)


def _depth(engage: Reading, path: LeverPath, index: int, gate: GateMap) -> Reading:
    """From the neutral line to where the lever lies."""
    if engage.value is None:
        return unmeasured("depth_mm", engage.why or "")
    if gate.scale != "absolute":
        return unmeasured("depth_mm", NEEDS_RULER)
    depth = abs(float(engage.value))
    u = np.sqrt((engage.uncertainty or 0.0) ** 2 + float(path.zero_u_mm[index]) ** 2 + (RULER_SHARE * depth) ** 2)
    return measured("depth_mm", depth, uncertainty=float(u))


def _hand_share(gear: str, windows: Windows, mine: np.ndarray, path: LeverPath) -> Reading:
    """Windows with a hand felt over those in which that is known; its interval holds whatever the others were."""
    why = why_no_hand(path)
    if why is not None:
        return unmeasured("hand_share", why)
    felt, free, unknown = (int(np.sum(windows.hand[mine] == state)) for state in (FELT, FREE, UNKNOWN))
    if felt + free == 0 or felt + free < KNOWN_LEAST * (felt + free + unknown):
        only_tested = bool(mine.any() and windows.tested[mine].all())
        return unmeasured("hand_share", (ONLY_TESTED if only_tested else ONLY_SHORT).format(gear=gear))
    total = felt + free + unknown
    return measured("hand_share", felt / (felt + free), interval95=(felt / total, (felt + unknown) / total))
