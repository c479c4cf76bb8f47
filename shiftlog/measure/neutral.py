"""The rests in neutral: where they lie, what they would do to the engine, how often they stray."""

from collections.abc import Sequence
from dataclasses import replace

from shiftlog.measure.scene import Scene
from shiftlog.measure.share import share_of
from shiftlog.measure.speeds import read_temperature, value_at
from shiftlog.model.car import GateLayout
from shiftlog.model.reading import Reading, measured, unmeasured
from shiftlog.model.rest import Rest
from shiftlog.model.share import Share
from shiftlog.signal.middle import difference, middle_of

NO_HOME = "this lever has no home plane"


def measure_rest(rest: Rest, scene: Scene) -> Rest:
    """The rest with its vehicle speed, gearbox temperature and, out of home, the engine speeds it would lead to."""
    layout = scene.car.gate
    assert layout is not None
    trace = scene.signals.vehicle_speed
    speed = None if trace is None else value_at(trace, rest.start_s)
    reading = (
        unmeasured("vehicle_speed_mps", "vehicle speed was not logged, or has a gap here")
        if speed is None
        else measured("vehicle_speed_mps", speed)
    )
    read = (reading, read_temperature(rest.start_s, scene))
    return replace(
        rest, readings={**rest.readings, **{r.key: r for r in read}},
        over_rev_if={} if speed is None else _exposure(rest, speed, layout, scene),
    )  # fmt: skip


def _exposure(rest: Rest, speed_mps: float, layout: GateLayout, scene: Scene) -> dict[str, float]:
    if rest.plane == layout.home:
        return {}
    plane = next(p for p in layout.planes if p.name == rest.plane)
    gears = [g for g in (plane.forward, plane.rear) if g in scene.rpm_per_mps]
    return {g: speed_mps * scene.rpm_per_mps[g] for g in gears}


def measure_share(rests: Sequence[Rest], layout: GateLayout) -> Share | str:
    """Wrong-plane share over released rests outside bends, or the reason why there is none.

    Clopper-Pearson interval, 95 % (Biometrika 26, 1934).
    """
    if layout.home is None:
        return NO_HOME
    straight = [r for r in rests if not r.in_bend]
    counted = [r for r in straight if r.released]
    if not counted:
        return "no rest to which the lever ran by itself; a marked release test makes every let-go count"
    k, n = sum(r.plane != layout.home for r in counted), len(counted)
    unknown = [r for r in straight if r.released is None]
    k_all, n_all = k + sum(r.plane != layout.home for r in unknown), n + len(unknown)
    return replace(share_of(k, n), if_unknown_counted=(min(k / n, k_all / n_all), max(k / n, k_all / n_all)))


def measure_hysteresis(rests: Sequence[Rest]) -> Reading:
    """Median rest when let go from the right minus median when let go from the left [mm], with its interval.

    Over released rests outside bends; a side of a single rest has no interval.
    """
    key = "hysteresis_mm"
    right, left = (
        [r.select_mm for r in rests if r.released and not r.in_bend and r.came_from == side]
        for side in ("right", "left")
    )
    if not right or not left:
        return unmeasured(
            key,
            f"hysteresis needs released rests from both sides; {len(right)} from the right, {len(left)} from the left",
        )
    apart = difference(middle_of(right), middle_of(left))
    return measured(key, apart.value, uncertainty=apart.u, interval95=apart.interval95)
