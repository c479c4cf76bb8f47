"""A gate map for tests in which the lever is held where no gear is: from the rest of the log."""

from dataclasses import replace

import numpy as np

from shiftlog.detect.gates import fit_gate_map
from shiftlog.detect.lever import build_path
from shiftlog.errors import CannotMeasure
from shiftlog.measure.scene import Scene
from shiftlog.model.lever import LeverPath
from shiftlog.model.result import DriveResult
from shiftlog.model.trace import Trace

LEAST_S = 3.0


def trace_beside(kind: str, scene: Scene, result: DriveResult) -> LeverPath:
    """The lever's path by a map that leaves out all marked spans of this kind. CannotMeasure where there is none."""
    lever = scene.signals.lever
    if lever is None:
        raise CannotMeasure(f"the lever's way through the gate is not known: {result.gate_why or 'no lever sensor'}")
    kept = _without(lever, [(t.start_s, t.end_s) for t in result.tests if t.kind == kind])
    try:
        gate = fit_gate_map(replace(scene.signals, lever=kept), scene.car)
    except CannotMeasure as why:
        said = f"outside the marked span the lever shows no gate: go through all gears first ({why})"
        raise CannotMeasure(said) from why
    return build_path(lever, gate, scene.settings)


def _without(lever: Trace, cut: list[tuple[float, float]]) -> Trace:
    spans = list(lever.spans)
    for start_s, end_s in cut:
        spans = [
            piece
            for a, b in spans
            for piece in ((a, min(b, start_s)), (max(a, end_s), b))
            if piece[1] - piece[0] > LEAST_S
        ]
    rows = np.zeros(lever.time_s.size, bool)
    for a, b in spans:
        rows |= (lever.time_s >= a) & (lever.time_s <= b)
    if rows.sum() < LEAST_S * lever.rate_hz:
        raise CannotMeasure("the log holds nothing but the marked span: go through all gears before it")
    return replace(lever, time_s=lever.time_s[rows], values=lever.values[rows], spans=tuple(spans), clipped=None)
