"""The gate map: raw lever readings to gate millimetres, from the drive's own stays in gear."""

import numpy as np
from scipy.optimize import least_squares

from shiftlog.detect.contradiction import check_against_speeds
from shiftlog.detect.dwells import Dwells, EvenLever, find_dwells, spread_evenly
from shiftlog.detect.few_gears import check_borne_out
from shiftlog.detect.lattice import Candidate, build_lattice, find_candidates
from shiftlog.detect.orientation import Chosen, choose_candidate
from shiftlog.errors import CannotMeasure, ProfileError
from shiftlog.model.car import Car, GateLayout
from shiftlog.model.drive import Signals
from shiftlog.model.gate import GateMap, Seat
from shiftlog.model.trace import Trace
from shiftlog.signal.robust import robust_sigma

# Residuals beyond this count by their size, no longer by their square, so that one gear that sits off its place
# shows as a residual and does not turn the map.
SEAT_SIGMA_MM = 0.4
# Of a gate measured by a ruler, travel and pitch may be off those of the profile by this share, one standard deviation.
USUAL_STRETCH = 0.1
# How far a fit to few seats may leave the map it started from: as strong as one seat ten millimetres off.
PRIOR_WEIGHT = 0.02
# Maps of drives through a few gears explain 0.8 and more of the places and ways; one that was forced onto places that
# are no gears explains next to nothing.
LEAST_EXPLAINED = 0.6
# A stand at less than this share of the deepest one is a lever that was refused, not one that lies in gear.
STAY_SHARE = 0.85
# A place in the row of the seats where the layout has no gear is one that the profile lacks if the lever dwelt
# there this long.
LACKING_S = 1.0
# What drifts covers five or six of its standard uncertainties by itself.
LEAST_RANGE_DRIFTS = 8.0
# A sensor of which more readings stand at an end of its range does not see the whole gate, or lost its lead.
LEAST_CUT = 0.002
NO_LEVER = (
    "no lever sensor in this drive (channels select and engage, or a motion sensor on the lever and one on the body); "
    "fit one to see the gate"
)

SLIPPED = "; where the profile is right, one of the two motion sensors may have turned in its holder: fix both firmly"
"""Said of a lever from two of them: a slip is found only where enough places are met before and after it."""


def fit_gate_map(signals: Signals, car: Car) -> GateMap:
    """Map of the lever's readings to gate mm.

    CannotMeasure where the log has no lever, nothing moves, or too few gears were used; ProfileError where the
    lever dwells in a gear that the profile lacks.
    """
    if signals.lever is None:
        raise CannotMeasure(signals.lever_why or NO_LEVER)
    if car.gate is None:
        raise CannotMeasure("the car's profile has no [gate]: name its planes, left to right, in car.toml")
    lever = spread_evenly(signals.lever)
    _check_moves(lever, signals)
    dwells = find_dwells(lever)
    if len(dwells.centres) < 2:
        raise CannotMeasure("the lever lay in one place only; drive through at least two gears")
    candidates = find_candidates(lever, dwells, car.gate)
    if not candidates:
        raise CannotMeasure("the places the lever lay in fit no gate of this layout; check [gate] in car.toml")
    chosen = choose_candidate(candidates, dwells, signals, car)
    try:
        _check_fit(chosen.candidate, dwells, car.gate)
    except (CannotMeasure, ProfileError) as why:
        _check_reach(signals.lever)
        if signals.lever_u is None:
            raise
        raise type(why)(f"{why}{SLIPPED}") from why
    check_against_speeds(chosen.candidate, candidates, dwells, signals, car)
    check_borne_out(chosen, dwells, signals, car)
    matrix, offset = _refine(chosen.candidate, dwells, car.gate)
    slow_mm = (signals.lever_u or 0.0) * float(np.max(np.linalg.norm(matrix, axis=1)))
    return GateMap(
        matrix=matrix, offset=offset, orientation=chosen.orientation, evidence=_evidence(chosen, signals),
        scale="absolute" if car.gate.mm_per_unit else "relative",
        seats=_measure_seats(matrix, offset, chosen.candidate, dwells, car.gate), layout=car.gate,
        noise_mm=float(np.hypot(np.max(np.linalg.norm(matrix * lever.noise, axis=1)), slow_mm)), slow_mm=slow_mm,
        rounding_mm=tuple(float(mm) for mm in np.linalg.norm(matrix * lever.rounding, axis=1)),
    )  # fmt: skip


def _check_moves(lever: EvenLever, signals: Signals) -> None:
    """A sensor that drifts seems to move a little where nothing does."""
    if signals.lever_u is not None and lever.span <= LEAST_RANGE_DRIFTS * signals.lever_u:
        raise CannotMeasure(
            f"{signals.lever.recording}: the lever turns by {lever.span:.2g} degrees in this log, and two motion "
            f"sensors tell that to {signals.lever_u:.2g}: fix the sensor to the lever, or drive through the gears"
        )


def _evidence(chosen: Chosen, signals: Signals) -> str:
    """In words; a lever known from motion sensors has its sides from the body sensor's axes."""
    by_axes = chosen.orientation == "declared" and signals.lever_u is not None
    return "the axes of the body's motion sensor" if by_axes else chosen.evidence


def describe_worth(gate: GateMap) -> tuple[str, ...]:
    """How good a lever position is, one line; nothing for a sensor that reads the position itself."""
    if not gate.slow_mm:
        return ()
    return (f"lever position from two motion sensors: good for {gate.slow_mm:.1f} mm (standard uncertainty)",)


def map_to_gate(gate: GateMap, raw: np.ndarray) -> np.ndarray:
    """(n, 2) readings as logged → (n, 2) gate mm."""
    return raw @ gate.matrix.T + gate.offset


def _check_reach(lever: Trace) -> None:
    """A sensor that is cut off, or loses its lead, puts the lever where it never lay: no fault of the profile."""
    share = 0.0 if lever.clipped is None else float(np.mean(lever.clipped))
    if share > LEAST_CUT:
        raise CannotMeasure(
            f"{lever.recording}: {100 * share:.2g} % of the lever's readings stand at an end of the sensor's range, so "
            "that its places fit no gate; check the sensor's lead, and that its range holds the whole gate"
        )


def _check_fit(candidate: Candidate, dwells: Dwells, layout: GateLayout) -> None:
    _check_profile(candidate, dwells, layout)
    if candidate.explained < LEAST_EXPLAINED:
        raise CannotMeasure(
            "the places the lever lay in and its ways between them do not fit the gate of this profile; drive through "
            "more gears, or check [gate] planes in car.toml"
        )


def _check_profile(candidate: Candidate, dwells: Dwells, layout: GateLayout) -> None:
    lattice = build_lattice(layout)
    for place in candidate.unexplained:
        mine = dwells.cluster == place
        seconds = float((dwells.end_s - dwells.start_s)[mine].sum())
        x, y = candidate.matrix @ dwells.centres[place] + candidate.offset
        off_row = abs(abs(y) - lattice.half_travel) > 0.35 * lattice.half_travel
        if off_row or seconds < LACKING_S or _has_gear(layout, x, y):
            continue
        side = "forward" if y > 0 else "rearward"
        raise ProfileError(
            f"car.toml, [gate] planes: the lever lay {seconds:.1f} s in a gear {side} at "
            f"{x:+.0f} mm across the gate, where the profile ({', '.join(p.name for p in layout.planes)}, left to "
            "right) has none; add that gear to planes"
        )


def _has_gear(layout: GateLayout, select_mm: float, engage_mm: float) -> bool:
    """Whether the layout has a gear on that side of the plane at a place; a stand there is a refusal."""
    for index, plane in enumerate(layout.planes):
        if abs(layout.plane_mm(index) - select_mm) < 0.35 * layout.plane_pitch_mm:
            return bool(plane.forward if engage_mm > 0 else plane.rear)
    return False


def _gear_points(candidate: Candidate, dwells: Dwells) -> dict[str, np.ndarray]:
    """Raw medians of the stays in each gear, (k, 2); stands short of the deepest one are refusals, no stays."""
    owner = np.array([candidate.gears[c] or "" for c in dwells.cluster])
    depth = np.abs(dwells.raw @ candidate.matrix[1] + candidate.offset[1])
    points = {}
    for gear in dict.fromkeys(owner[owner != ""]):
        deepest = depth[owner == gear].max()
        points[str(gear)] = dwells.raw[(owner == gear) & (depth > STAY_SHARE * deepest)]
    return points


def _refine(candidate: Candidate, dwells: Dwells, layout: GateLayout) -> tuple[np.ndarray, np.ndarray]:
    """Robust affine fit of the seats to the lattice; with a ruler's scale only turn and shift are fitted."""
    points = _gear_points(candidate, dwells)
    raw = np.array([np.median(p, axis=0) for p in points.values()])
    seats = np.array([layout.position_mm(g) for g in points])
    weight = np.sqrt(np.minimum([len(p) for p in points.values()], 10))
    if layout.mm_per_unit:
        return _fit_turn(raw, seats, weight, layout, candidate)
    start = np.hstack([candidate.matrix, candidate.offset[:, None]])
    centre = raw.mean(axis=0)
    reach = max(float(np.abs(raw - centre).max()), 1e-9)

    def residuals(change: np.ndarray) -> np.ndarray:
        step = change.reshape(2, 3)
        local = np.hstack([(raw - centre) / reach, np.ones((len(raw), 1))])
        fitted = raw @ start[:, :2].T + start[:, 2] + local @ step.T
        return np.concatenate([((fitted - seats) * weight[:, None]).ravel(), PRIOR_WEIGHT * change])

    change = least_squares(residuals, np.zeros(6), loss="soft_l1", f_scale=SEAT_SIGMA_MM).x.reshape(2, 3)
    matrix = start[:, :2] + change[:, :2] / reach
    return matrix, start[:, 2] + change[:, 2] - change[:, :2] @ centre / reach


def _fit_turn(
    raw: np.ndarray, seats: np.ndarray, weight: np.ndarray, layout: GateLayout, candidate: Candidate
) -> tuple[np.ndarray, np.ndarray]:
    """Turn (or mirrored turn, as the candidate has it) and shift of readings already in mm by the ruler.

    Travel that is short everywhere must not shift the neutral line, midway between forward and rearward seats, to where
    more gears lie or one side fits: how far the lattice stretches along either axis is left free beside it.
    """
    assert layout.mm_per_unit is not None
    scale = np.diag([layout.mm_per_unit["select"], layout.mm_per_unit["engage"]])
    mirror = np.diag([1.0, np.sign(np.linalg.det(candidate.matrix @ np.linalg.inv(scale)))])

    def place(p: np.ndarray) -> np.ndarray:
        turn = np.array([[np.cos(p[0]), -np.sin(p[0])], [np.sin(p[0]), np.cos(p[0])]])
        return turn @ mirror @ scale

    def residuals(p: np.ndarray) -> np.ndarray:
        off = raw @ place(p).T + p[1:3] - seats * (1 + p[3:])
        return np.concatenate([(off * weight[:, None]).ravel(), SEAT_SIGMA_MM * p[3:] / USUAL_STRETCH])

    unit = candidate.matrix @ np.linalg.inv(scale) @ mirror
    angle = np.arctan2(unit[1, 0] - unit[0, 1], unit[0, 0] + unit[1, 1])
    start = np.concatenate([[angle], np.median(seats - raw @ place([angle]).T, axis=0), np.zeros(2)])
    best = least_squares(residuals, start, loss="soft_l1", f_scale=SEAT_SIGMA_MM).x
    return place(best), best[1:3]


def _measure_seats(
    matrix: np.ndarray, offset: np.ndarray, candidate: Candidate, dwells: Dwells, layout: GateLayout
) -> tuple[Seat, ...]:
    seats = []
    for gear, raw in _gear_points(candidate, dwells).items():
        mm = raw @ matrix.T + offset
        select, engage = np.median(mm, axis=0)
        x, y = layout.position_mm(gear)
        seats.append(
            Seat(
                gear=gear, select_mm=float(select), engage_mm=float(engage), stays=len(mm),
                spread_mm=float(np.hypot(*robust_sigma(mm))), off_mm=(float(select - x), float(engage - y)),
            )
        )  # fmt: skip
    return tuple(sorted(seats, key=lambda s: layout.gears.index(s.gear)))
