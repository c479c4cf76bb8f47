"""Every gear at standstill with the engine off and with it idling: a clutch that drags makes them differ."""

from scipy.stats import fisher_exact

from shiftlog.errors import CannotMeasure
from shiftlog.guided.pushes import ANOTHER, Push, find_pushes
from shiftlog.measure.scene import Scene
from shiftlog.measure.share import share_of
from shiftlog.model.drive import MarkedTest
from shiftlog.model.guided import NOT_KNOWN, PRACTICE, Figure, GuidedResult
from shiftlog.model.result import DriveResult
from shiftlog.model.sign import OUTSIDE

OFF, IDLING = "engine off", "engine idling"
CHANCE = 0.05


def says_engine(configuration: str | None) -> str | None:
    """``engine off`` or ``engine idling`` where the mark says one of them, else None."""
    words = (configuration or "").lower()
    if "pump" in words:
        return None
    if "off" in words and "engine" in words:
        return OFF
    return IDLING if "idl" in words or "engine on" in words else None


def count_refusals(test: MarkedTest, scene: Scene, result: DriveResult, pushes: tuple[Push, ...]) -> GuidedResult:
    """Refused pushes with the engine off or idling, and beside it the other state where it was tried."""
    state = says_engine(test.configuration)
    if not pushes:
        raise CannotMeasure("the marked span holds no push at a gear; mark the span again")
    here = {state: pushes}
    for other in result.tests:
        told = says_engine(other.configuration) if other.kind == test.kind else None
        if told and told != state:
            here[told] = here.get(told, ()) + find_pushes(scene, result.gate, other.start_s, other.end_s)
    says, points = _say(here)
    return GuidedResult(
        kind=test.kind, start_s=test.start_s, end_s=test.end_s, configuration=test.configuration,
        figures=(*(_figure(name, some) for name, some in here.items()), *_chance(here)), says=says, points_to=points,
        doubts=("a tooth that stands on a tooth refuses a gear now and then, engine off or on",),
    )  # fmt: skip


def _hard(push: Push) -> bool:
    return bool(push.refusals) or push.in_s is None


def _figure(name: str, pushes: tuple[Push, ...]) -> Figure:
    share = share_of(sum(_hard(p) for p in pushes), len(pushes))
    return Figure(key="refusals", label="Tries at a gear that were refused", of=name, share=share)


def _p_value(here: dict[str, tuple[Push, ...]]) -> float | None:
    if OFF not in here or IDLING not in here:
        return None
    table = [[sum(_hard(p) for p in here[name]), sum(not _hard(p) for p in here[name])] for name in (IDLING, OFF)]
    return float(fisher_exact(table, alternative="greater").pvalue)


def _chance(here: dict[str, tuple[Push, ...]]) -> tuple[Figure, ...]:
    p = _p_value(here)
    shared = {"key": "refusals_by_chance", "label": "Probability that chance alone makes them differ so"}
    if p is None:
        return (Figure(**shared, why="only one state of the engine was tried; try every gear with it off and idling"),)
    return (Figure(**shared, value=p),)


def _say(here: dict[str, tuple[Push, ...]]) -> tuple[tuple[str, ...], tuple[tuple[str, str], ...]]:
    told = "; ".join(f"{sum(_hard(p) for p in some)} of {len(some)} refused with {name}" for name, some in here.items())
    p = _p_value(here)
    if p is None:
        missing = IDLING if OFF in here else OFF
        return (f"{NOT_KNOWN}: every gear with the {missing} is still to be tried.", f"{told}."), ()
    if p >= CHANCE:
        return (f"{told}: no more than chance", "A dragging clutch is not shown by this."), ()
    gears = sorted({q.gear for q in here[IDLING] if _hard(q) and q.gear not in (None, ANOTHER)})
    where = f" in {', '.join(gears)}" if gears else ""
    answer = f"Gears go in hard{where} with the engine idling and easily with it off: the clutch first."
    return (answer, told), ((OUTSIDE, f"{told}: look at the clutch before any gear ({PRACTICE})"),)
