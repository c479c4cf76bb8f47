"""Where the lever truly lay in neutral, how it came there and how long that took."""

import numpy as np

from shiftlog.model.drive import MarkedTest
from shiftlog.model.reading import Reading, measured, unmeasured
from shiftlog.model.rest import Rest
from shiftlog.synth.path import SELECT
from shiftlog.synth.scene import Scene
from shiftlog.synth.script import RestScript
from shiftlog.synth.true_shift import STILL_WINDOW_S, still_runs

LEAST_S = 0.3
LEAST_RUN_MM = 3.0
LED_WITHIN_S = 2.5
RELEASED = {"ran": True, "left": None, "guided": False, "held": False}
"""Friction that leaves the lever where it was let go makes no motion: nobody can know, so None."""


def true_rests(
    scene: Scene, stays: list[tuple[float, float]], scripts: list[RestScript], marks: list[MarkedTest]
) -> tuple[tuple[Rest, ...], tuple[str, ...]]:
    """Every rest of 0.3 s and more in the neutral stays, and the model's own word for each."""
    rests, words = [], []
    for stay in stays:
        for span in still_runs(scene, *stay):
            if span[1] - span[0] < LEAST_S:
                continue
            script = _script_of(span, scripts)
            marked = any(m.kind == "release" and m.start_s <= span[0] <= m.end_s for m in marks)
            led = _was_led(scene, max(stay[0], span[0] - LED_WITHIN_S), span)
            rests.append(_rest(scene, span, script, released=_released(script, marked=marked, led=led)))
            words.append(script.how)
    return tuple(rests), tuple(words)


def _released(script: RestScript, *, marked: bool, led: bool) -> bool | None:
    """In a marked release test a lever that stays where it was let go counts as released too.

    Elsewhere one that a hand had led to its place was guided there, whoever lets go of it afterwards.
    """
    if script.how != "left":
        return RELEASED[script.how]
    return True if marked else False if led else None


def _was_led(scene: Scene, since_s: float, span: tuple[float, float]) -> bool:
    """Whether the lever came to its place across the gate shortly before."""
    way = scene.steady[scene.span(since_s, span[0]), SELECT]
    rest = float(np.median(scene.steady[scene.span(*span), SELECT]))
    return bool(way.size and np.max(np.abs(way - rest)) >= LEAST_RUN_MM)


def _script_of(span: tuple[float, float], scripts: list[RestScript]) -> RestScript:
    """The script that covers most of a span; a lever let go within it without moving counts as ``left``."""
    shares = [min(span[1], s.end_s) - max(span[0], s.start_s) for s in scripts]
    inside = [s for s, share in zip(scripts, shares, strict=True) if s.how == "left" and share > 0.3]
    best = int(np.argmax(shares))
    if inside or shares[best] <= 0.0:
        return inside[-1] if inside else RestScript(start_s=span[0], end_s=span[1], how="left")
    return scripts[best]


def _rest(scene: Scene, span: tuple[float, float], script: RestScript, *, released: bool | None) -> Rest:
    inside = scene.span(*span)
    select, engage = (float(v) for v in np.median(scene.path[inside], axis=0))
    gate = scene.car.gate
    planes = [gate.plane_mm(i) for i in range(len(gate.planes))]
    plane = gate.planes[int(np.argmin(np.abs(np.array(planes) - select)))].name
    return Rest(
        start_s=span[0],
        end_s=span[1],
        select_mm=select,
        engage_mm=engage,
        plane=plane,
        released=released,
        came_from=_side(scene, script, select),
        in_bend=_in_bend(scene, span),
        readings={r.key: r for r in _readings(scene, span, script, select)},
    )


def _in_bend(scene: Scene, span: tuple[float, float]) -> bool:
    motion = scene.motion
    inside = (motion.time_s >= span[0]) & (motion.time_s <= span[1])
    sideways = motion.yaw_rate * np.abs(motion.speed_mps)
    return bool(np.median(np.abs(sideways[inside])) > 2.0)


def _side(scene: Scene, script: RestScript, rest_mm: float) -> str | None:
    if script.how not in ("ran", "guided"):
        return None
    index = scene.span(script.let_go_s or script.start_s, script.end_s).start
    way = scene.steady[index, SELECT] - rest_mm
    if abs(way) < LEAST_RUN_MM:
        return None
    return "right" if way > 0 else "left"


def _readings(scene: Scene, span: tuple[float, float], script: RestScript, select: float) -> list[Reading]:
    speed = scene.motion_at(np.abs(scene.motion.speed_mps), span[0])
    offset = (
        measured("offset_mm", select) if scene.car.gate.home else unmeasured("offset_mm", "the lever has no home plane")
    )
    return [measured("vehicle_speed_mps", speed), offset, _return_time(scene, span, script, select)]


def _return_time(scene: Scene, span: tuple[float, float], script: RestScript, rest_mm: float) -> Reading:
    """From the last extreme on the side it was held to staying within 1 mm of the rest."""
    key = "return_time_s"
    if script.how != "ran" or abs(script.ran_mm or 0.0) < LEAST_RUN_MM:
        return unmeasured(key, "the lever did not run home by itself")
    before = scene.span(script.let_go_s - 0.25, script.let_go_s + 0.03)
    off = scene.steady[before, SELECT] - rest_mm
    side = np.sign(off[-1])
    extreme_s = scene.time_s[before][off.size - 1 - int(np.argmax((side * off)[::-1]))]
    after = scene.span(extreme_s, max(span[1] - STILL_WINDOW_S, span[0] + STILL_WINDOW_S))
    outside = np.abs(scene.steady[after, SELECT] - rest_mm) > 1.0
    return measured(key, float(scene.time_s[after][outside][-1] - extreme_s))
