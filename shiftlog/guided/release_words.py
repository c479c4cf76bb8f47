"""What a release test says, in sentences a technician can act on."""

from collections.abc import Sequence
from dataclasses import dataclass

from shiftlog.findings.case import LARGE_MM, OFFSET_MM, is_even
from shiftlog.guided.shares import say_share
from shiftlog.model.gate import GateMap
from shiftlog.model.guided import Figure
from shiftlog.model.sign import ADJUST, INSIDE, OUTSIDE

OPEN = "what differs between let-goes from the right and from the left tells whether a setting or friction is to blame"
SLOW_S = 0.5
"""A sound lever is home in under half a second (common practice, no source)."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Setup:
    """What is connected. unmoved, friction : what a lever without motion, and a large hysteresis, mean in it

    points_to : whose trouble they are, None where they are none by themselves; tells_setting : whether the select
    cable's setting shows in it
    """

    unmoved: str
    friction: str
    unmoved_points_to: str | None
    friction_points_to: str
    tells_setting: bool = False


WHOLE = Setup(
    unmoved="friction holds it where it is left", unmoved_points_to=OUTSIDE, friction_points_to=OUTSIDE,
    friction="friction; find where with the cables off and the tower worked by hand", tells_setting=True,
)  # fmt: skip
SETUPS = {
    "cables off": Setup(
        unmoved="no spring of the lever box brings it home; where the centring spring sits in the tower that is as it "
        "should be", unmoved_points_to=None, friction_points_to=OUTSIDE,
        friction="friction of the lever box by itself; set it against the test with everything connected",
    ),
    "tower by hand": Setup(
        unmoved="the tower does not return by itself either: its spring, its shaft, or what it moves inside",
        unmoved_points_to=INSIDE, friction_points_to=INSIDE,
        friction="friction of the tower by itself, its shaft or what it moves inside; set it against the test with "
        "everything connected",
    ),
}  # fmt: skip
"""By the configuration of a marked span; any other is taken as everything connected."""


def say_release(
    figures: Sequence[Figure], gate: GateMap, *, configuration: str | None = None
) -> tuple[tuple[str, ...], tuple[tuple[str, str], ...]]:
    """Sentences, the answer first, and what they point to; configuration : of the marked span."""
    by = {(f.key, f.of): f for f in figures}
    setup = SETUPS.get((configuration or "").strip().lower(), WHOLE)
    says, points = [_home(by, gate)], []
    unmoved = by["no_motion", ""].share
    if unmoved and unmoved.k:
        says.append(f"It made no motion at all in {say_share(unmoved)} let-goes: {setup.unmoved}.")
        if setup.unmoved_points_to:
            stays = f"the lever stays where it is let go, {unmoved.k} of {unmoved.n} times"
            points.append((setup.unmoved_points_to, stays))
    springless = bool(unmoved and 2 * unmoved.k > unmoved.n and not setup.unmoved_points_to)
    said, pointed = ([], []) if springless else _hysteresis(by, setup)
    says += said + _returns(by)
    away = by["not_home", ""].share
    if away and away.k and not points and not pointed and setup.tells_setting:
        pointed = [
            (to, f"the lever does not come home, {away.k} of {away.n} times; {OPEN}") for to in (ADJUST, OUTSIDE)
        ]
    return tuple(says), tuple(points + pointed)


def _home(by: dict[tuple[str, str], Figure], gate: GateMap) -> str:
    away = by["not_home", ""].share
    if away is None:
        lay = ", ".join(f"{f.of} {f.share.k} of {f.share.n}" for f in by.values() if f.key == "lay_in" and f.share)
        return f"This lever has no home plane; it lay in {lay}."
    if away.k == 0:
        return f"The lever came home to {gate.layout.home} every time: {say_share(away)} not home."
    where = ", ".join(
        f"{f.of} {f.share.k} times"
        for f in by.values()
        if f.key == "lay_in" and f.share and f.share.k and f.of != gate.layout.home
    )
    return f"The lever did not come home to {gate.layout.home} in {say_share(away)} let-goes; it lay in {where}."


def _hysteresis(
    by: dict[tuple[str, str], Figure], setup: Setup
) -> tuple[list[str], list[tuple[str, str]]]:  # fmt: skip
    apart, offset = by["hysteresis_mm", ""], by["offset_mm", ""]
    if apart.value is None:
        return [f"Hysteresis: not known, {apart.why}."], []
    told = f"{apart.value:+.1f} mm between let-goes from the right and from the left{_reach(apart)}"
    if abs(apart.value) > LARGE_MM:
        return [f"Hysteresis {told}: {setup.friction}."], [(setup.friction_points_to, f"hysteresis {told}")]
    if (
        setup.tells_setting
        and offset.value is not None
        and abs(offset.value) > OFFSET_MM
        and is_even(apart.value, apart.interval95)
    ):
        side = "right" if offset.value > 0 else "left"
        even = f"rests {abs(offset.value):.1f} mm to the {side} of home alike from both sides, hysteresis {told}"
        return [f"It {even}: the select cable's setting comes first."], [(ADJUST, f"the lever {even}")]
    return [f"Hysteresis {told}."], []


def _reach(figure: Figure) -> str:
    return "" if figure.interval95 is None else f" (95 %: {figure.interval95[0]:+.1f} to {figure.interval95[1]:+.1f})"


def _returns(by: dict[tuple[str, str], Figure]) -> list[str]:
    times = {side: f.value for side in ("right", "left") if (f := by["return_time_s", side]).value is not None}
    if not times:
        return []
    told = " and ".join(f"{value:.2f} s from the {side}" for side, value in times.items())
    slow = " That is slow: a sound lever is home within half a second." if max(times.values()) > SLOW_S else ""
    creeps = by["creeps", ""].share
    how = f" It creeps home, {creeps.k} of {creeps.n} times." if creeps and creeps.k else ""
    return [f"It returns in {told}.{slow}{how}"]
