"""After the cables were changed: what was foretold against what was then measured, and what a turn is worth."""

from collections.abc import Sequence

import numpy as np
from scipy.stats import norm

from shiftlog.cables.follow_words import say_next, say_what_came
from shiftlog.cables.moved import Moved, fit_moved, has_room, list_changes
from shiftlog.cables.words import LEAST_MOVE_MM
from shiftlog.errors import CannotMeasure
from shiftlog.model.cables import Clearance, Setting
from shiftlog.model.car import Car
from shiftlog.model.follow_up import LESS, MORE, SAME, UNKNOWN, CableFollowed, FollowUp, GearFollowed, Turning
from shiftlog.model.reading import Reading, measured, unmeasured

TURN_U = 0.04
"""A turn is read off to an eighth: rectangular, half of it to either side (JCGM 100:2008, 4.3.7)."""
MM_U = 0.15
"""A cable moved in its clamp is read off a ruler to half a millimetre, in the same way."""
SURE = 0.95
NOT_SHOWN = {
    "engage": "no stop along the gate had room in both tests; press every gear home in both",
    "select": "no room across the gate was measured in both tests; press the lever to either side in gear as well",
}
LEANT = "the lever leaned on its stop in one of the tests: what lies beyond cannot be measured"
SOFT = "its stop gives with force and is not the gate's"
NOT_TURNED = "this cable was not changed"


def turning_of(name: str, car: Car, *, turns: float | None = None, mm: float | None = None) -> Turning:
    """What was done to a cable, with what it should be at the lever by the profile."""
    if turns is None:
        moved = mm if mm and abs(mm) > LEAST_MOVE_MM else 0.0
        return Turning(name=name, turns=None, foretold_mm=moved, u_mm=MM_U if moved else 0.0)
    pitch = car.cables.get(f"{name}_mm_per_turn")
    if not turns:
        return Turning(name=name, turns=0.0, foretold_mm=0.0, u_mm=0.0)
    if not isinstance(pitch, float | int):
        return Turning(name=name, turns=turns, foretold_mm=None)
    return Turning(name=name, turns=turns, foretold_mm=turns * float(pitch), u_mm=TURN_U * float(pitch))


def turnings_of(setting: Setting, car: Car) -> tuple[Turning, Turning]:
    """The advice, followed to the letter."""
    return (
        turning_of("engage", car, turns=setting.engage_turns, mm=setting.engage_mm),
        turning_of("select", car, turns=setting.select_turns, mm=setting.select_mm),
    )


def follow_up(
    before: Sequence[Clearance], after: Sequence[Clearance], turnings: tuple[Turning, Turning], car: Car,
    *, coupling: tuple[float, float] = (0.0, 0.0), scale: str = "relative",
) -> FollowUp:  # fmt: skip
    """Hold what a change of both cables should have given against what was then measured.

    turnings : of the engage and the select cable; coupling : (engage per select, select per engage), how far one axis
    moves the other; scale : of the gate map. CannotMeasure where nothing
    was changed, or no gear was pressed in both tests.
    """
    if not any(t.touched for t in turnings):
        raise CannotMeasure("neither cable was changed: give what was turned with --turned-engage or --turned-select")
    changes = list_changes(before, after, coupling)
    pairs = [(old, new) for old in before for new in after if old.gear == new.gear]
    if not pairs:
        raise CannotMeasure("no gear was pressed in both tests; run the same clearance test before and after")
    moved = fit_moved(changes, turnings) if changes.grew.size else None
    cables = tuple(_cable(k, turnings[k], moved, car) for k in (0, 1))
    gears = tuple(_gear(old, new, turnings, coupling, moved, len(pairs)) for old, new in pairs)
    hard = [(new.margin_mm, new.gear, old.margin_mm) for old, new in pairs if not (old.soft or new.soft)]
    if not hard:
        raise CannotMeasure("every stop gives with force: none of them is the gate's, and nothing can be followed up")
    verdict = _verdict(gears, cables)
    return FollowUp(
        car=car.name, scale=scale, gears=gears, cables=cables, tightest=min(hard)[1],
        smallest_before_mm=min(was for *_, was in hard), smallest_after_mm=min(hard)[0], verdict=verdict,
        why=say_what_came(verdict, gears, cables, min(hard)[1], min(hard)[0]), steps=say_next(cables, verdict),
    )  # fmt: skip


def _cable(k: int, turning: Turning, moved: Moved | None, car: Car) -> CableFollowed:
    pitch = car.cables.get(f"{turning.name}_mm_per_turn")
    known = float(pitch) if isinstance(pitch, float | int) and turning.turns is not None else None
    if not turning.touched or moved is None or not moved.shown[k]:
        why = NOT_TURNED if not turning.touched else NOT_SHOWN[turning.name]
        return CableFollowed(
            turning=turning, moved_mm=unmeasured("moved_mm", why), mm_per_turn=unmeasured("mm_per_turn", why),
            profile_mm_per_turn=known, verdict=UNKNOWN,
        )  # fmt: skip
    mm, u = float(moved.mm[k]), float(np.sqrt(moved.covariance[k, k]))
    verdict, other_way = UNKNOWN, False
    if turning.foretold_mm is not None:
        whole = float(np.hypot(u, turning.u_mm or 0.0))
        verdict = _judge(mm - turning.foretold_mm, whole, 1)
        other_way = mm * turning.foretold_mm < 0 and abs(mm) > _wide(1) * u
    return CableFollowed(
        turning=turning, moved_mm=measured("moved_mm", mm, uncertainty=u), mm_per_turn=_per_turn(turning, mm, u),
        profile_mm_per_turn=known, verdict=verdict, other_way=other_way,
    )  # fmt: skip


def _per_turn(turning: Turning, mm: float, u_mm: float) -> Reading:
    """Relative uncertainties of move and turns in quadrature."""
    if not turning.turns:
        return unmeasured("mm_per_turn", "the cable was moved in a clamp: there are no turns")
    pitch = mm / turning.turns
    return measured("mm_per_turn", pitch, uncertainty=float(np.hypot(u_mm, TURN_U * pitch) / abs(turning.turns)))


def _gear(
    old: Clearance, new: Clearance, turnings: tuple[Turning, Turning], coupling: tuple[float, float],
    moved: Moved | None, count: int,
) -> GearFollowed:  # fmt: skip
    shares = np.array([1.0, coupling[0]])
    measured_u = float(np.hypot(old.u_mm, new.u_mm))
    known = [t.foretold_mm for t in turnings]
    foretold, verdict = None, UNKNOWN
    difference = unmeasured("difference_mm", "the profile has no mm per turn: nothing was foretold")
    if known[0] is not None and (known[1] is not None or not coupling[0]):
        open_mm = old.clearance_mm - old.way * float(shares @ [known[0], known[1] or 0.0])
        foretold = max(open_mm, 0.0)
        u = float(np.hypot(measured_u, np.linalg.norm(shares * [t.u_mm or 0.0 for t in turnings])))
        difference = measured("difference_mm", new.clearance_mm - foretold, uncertainty=u)
        verdict = _judge(new.clearance_mm - foretold, u, count)
    why = SOFT if old.soft or new.soft else LEANT if not (has_room(old) and has_room(new)) else None
    return GearFollowed(
        gear=old.gear, way=old.way, wanted_mm=new.wanted_mm, before_mm=old.clearance_mm, after_mm=new.clearance_mm,
        foretold_mm=foretold, difference_mm=difference, why=why, verdict=UNKNOWN if old.soft or new.soft else verdict,
        fits=UNKNOWN if why or moved is None else _fits(old, new, shares, moved, measured_u, count),
    )  # fmt: skip


def _fits(
    old: Clearance, new: Clearance, shares: np.ndarray, moved: Moved, u_mm: float, count: int
) -> str:  # fmt: skip
    """Whether a gear went along with what the cables were found to have moved."""
    left = new.clearance_mm - (old.clearance_mm - old.way * float(shares @ moved.mm))
    return _judge(left, u_mm, count)


def _judge(difference: float, u: float, count: int) -> str:
    """Of so many looked at together one in twenty may be told apart by chance (Bonferroni)."""
    if abs(difference) <= _wide(count) * u:
        return SAME
    return MORE if difference > 0 else LESS


def _wide(count: int) -> float:
    return float(norm.ppf(1 - (1 - SURE) / 2 / count))


def _verdict(gears: Sequence[GearFollowed], cables: Sequence[CableFollowed]) -> str:
    if any(gear.fits in (MORE, LESS) for gear in gears):
        return "unlike"
    told = [c.verdict for c in cables if c.turning.touched]
    if any(verdict in (MORE, LESS) for verdict in told):
        return "other_pitch"
    if any(gear.verdict in (MORE, LESS) for gear in gears):
        return "unlike"
    return "as_foretold" if SAME in told else "not_known"
