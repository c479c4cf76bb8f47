"""One test with all connected, with the cables off, with the tower worked by hand: where friction and return are.

What a lever with everything connected has beyond what its parts have by themselves is the cables'. Figures of parts add
up only as far as the same spring stands against them, so that they point and do not prove.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from shiftlog.findings.case import SMALL_MM
from shiftlog.guided.set_up import COMPLETE, set_up_of
from shiftlog.guided.shares import say_share
from shiftlog.measure.share import share_of
from shiftlog.model.guided import Figure, GuidedResult
from shiftlog.model.share import Share

CABLES_OFF, TOWER = "cables off", "tower by hand"
PARTS = {CABLES_OFF: "the lever box", TOWER: "the tower"}
"""What each configuration shows by itself."""
CERTAIN = 2.0
"""Standard uncertainties by which a difference has to stand out."""
MOST_OF_IT = 0.5
QUICKER = 0.6
"""A return that takes this share of the time or less is a quicker one (common practice, no source)."""
SLOW_S = 0.5
NOTHING_TO_COMPARE = (
    "repeat the same test with the cables off and with the tower worked by hand, and name each span's configuration in "
    'drive.toml ("complete", "cables off", "tower by hand"): the differences say where friction and return come from'
)
POINTS_ONLY = "figures of the parts add up only as far as the same spring stands against them: they point, no more"


@dataclass(frozen=True, eq=False, kw_only=True)
class Compared:
    """What repeats in other configurations say together. says : sentences; doubts : what may be wrong with them"""

    kind: str
    configurations: tuple[str, ...]
    says: tuple[str, ...]
    doubts: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False, kw_only=True)
class _Pooled:
    """Results of one configuration together. unmoved : let-goes without motion; hysteresis, u [mm]; return_s"""

    unmoved: Share | None
    hysteresis_mm: float | None
    u_mm: float
    return_s: float | None

    @property
    def returns(self) -> bool | None:
        """Whether the lever runs back by itself; None where it does sometimes, or nothing tells."""
        if self.unmoved is None or self.unmoved.n == 0:
            return None
        return True if self.unmoved.high < MOST_OF_IT else False if self.unmoved.low > MOST_OF_IT else None


def compare_configurations(results: Sequence[GuidedResult]) -> Compared | None:
    """What the release tests among these say together, of one drive or several; None where there is none.

    A span without a configuration counts as complete.
    """
    tests = [r for r in results if r.kind == "release" and r.figures]
    if not tests:
        return None
    by = {name: _pool([r for r in tests if _name(r) == name]) for name in dict.fromkeys(_name(r) for r in tests)}
    says = [*_springs(by), *_friction(by), *_slowness(by)]
    if len(by) < 2 or COMPLETE not in by:
        return Compared(kind="release", configurations=tuple(by), says=tuple(says), doubts=(NOTHING_TO_COMPARE,))
    return Compared(kind="release", configurations=tuple(by), says=tuple(says), doubts=(POINTS_ONLY,))


def _name(result: GuidedResult) -> str:
    return set_up_of(result.configuration)


def _pool(results: Sequence[GuidedResult]) -> _Pooled:
    shares = [f.share for r in results if (f := r.figure("no_motion")) and f.share]
    apart = [f for r in results if (f := r.figure("hysteresis_mm")) and f.value is not None]
    times = [
        f.value for r in results for side in ("right", "left") if (f := r.figure("return_time_s", side)) and f.value
    ]
    n = sum(s.n for s in shares)
    return _Pooled(
        unmoved=share_of(sum(s.k for s in shares), n) if n else None,
        hysteresis_mm=float(np.mean([f.value for f in apart])) if apart else None,
        u_mm=_mean_u(apart), return_s=float(np.median(times)) if times else None,
    )  # fmt: skip


def _mean_u(figures: Sequence[Figure]) -> float:
    known = [f.uncertainty for f in figures if f.uncertainty is not None]
    return float(np.sqrt(np.sum(np.square(known))) / len(figures)) if known else 0.0


def _springs(by: dict[str, _Pooled]) -> list[str]:
    """Where the centring spring sits."""
    whole, box, tower = by.get(COMPLETE), by.get(CABLES_OFF), by.get(TOWER)
    says = []
    if box is not None and box.returns is False:
        says.append(
            f"With the cables off the lever has no return, {say_share(box.unmoved)} let-goes without motion: no spring "
            "of the lever box brings it home. Where the centring spring sits in the tower that is as it should be, and "
            "the lever box shows neither return nor hysteresis by itself."
        )
    if box is not None and box.returns and whole is not None and whole.returns is False:
        says.append("The lever box brings the lever home by itself; what holds it lies in the cables or the tower.")
    if tower is not None and tower.returns is False:
        says.append("Worked by hand the tower does not return either: its spring, its shaft, or what it moves inside.")
    if tower is not None and tower.returns and whole is not None and whole.returns is False:
        says.append("Worked by hand the tower returns by itself: what holds the lever lies in the cables or its box.")
    return says


def _friction(by: dict[str, _Pooled]) -> list[str]:
    whole = by.get(COMPLETE)
    parts = {
        PARTS[name]: (abs(one.hysteresis_mm), one.u_mm)
        for name, one in by.items()
        if name in PARTS and one.hysteresis_mm is not None and one.returns is not False
    }
    if whole is None or whole.hysteresis_mm is None or whole.returns is False or not parts:
        return []
    total, u = abs(whole.hysteresis_mm), whole.u_mm
    if total < SMALL_MM:
        return [f"Hysteresis with everything connected is {total:.1f} mm: no friction to look for."]
    left = total - sum(mm for mm, _ in parts.values())
    u_left = float(np.sqrt(u**2 + sum(each**2 for _, each in parts.values())))
    rest = " or ".join(["the cables", *(part for name, part in PARTS.items() if part not in parts)])
    told = ", ".join(f"{mm:.1f} ± {each:.1f} mm from {part}" for part, (mm, each) in parts.items())
    says = [f"Of {total:.1f} ± {u:.1f} mm of hysteresis, {told}; {left:.1f} ± {u_left:.1f} mm are left for {rest}."]
    return [*says, _main(parts, (left, u_left), rest, total)]


def _main(parts: dict[str, tuple[float, float]], left: tuple[float, float], rest: str, total: float) -> str:
    """Which of them has most of it, where that stands out."""
    every = {**parts, rest: left}
    where, (most, u) = max(every.items(), key=lambda item: item[1][0])
    if most > MOST_OF_IT * total and most - MOST_OF_IT * total > CERTAIN * u:
        return f"Most of the friction comes from {where}."
    return "No one place has most of the friction by more than the test is sure of; more let-goes would tell."


def _slowness(by: dict[str, _Pooled]) -> list[str]:
    whole = by.get(COMPLETE)
    if whole is None or whole.return_s is None or whole.return_s < SLOW_S:
        return []
    quick = [
        PARTS[name]
        for name, one in by.items()
        if name in PARTS and one.returns and one.return_s is not None and one.return_s < QUICKER * whole.return_s
    ]
    if not quick:
        return []
    return [f"The return takes {whole.return_s:.2f} s with everything connected and less in {' and in '.join(quick)}."]
