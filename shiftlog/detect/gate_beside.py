"""The gate map of a log in part of which the lever is held where it does not lie by itself: from the rest of it."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from shiftlog.detect.gates import describe_worth, fit_gate_map
from shiftlog.errors import CannotMeasure, ProfileError
from shiftlog.model.car import Car
from shiftlog.model.drive import MarkedTest, Signals
from shiftlog.model.gate import GateMap
from shiftlog.model.trace import Trace

PUSHED = ("clearance", "free_play", "detent")
"""Kinds of test in which a hand pushes the lever to where it does not lie by itself."""
LEAST_S = 3.0


def fit_gate(signals: Signals, car: Car, tests: Sequence[MarkedTest]) -> GateMap:
    """The gate map by what lies outside tests in which the lever is pushed, which drag its seats towards the stops.

    Of the whole log where the rest of it shows fewer gears. CannotMeasure where neither gives a map, with the reason of
    the whole log.
    """
    if signals.lever is None or not any(test.kind in PUSHED for test in tests):
        return fit_gate_map(signals, car)
    try:
        beside = fit_gate_beside(signals, car, tests, kinds=PUSHED)
    except CannotMeasure:
        return fit_gate_map(signals, car)
    try:
        whole = fit_gate_map(signals, car)
    except CannotMeasure:
        return beside
    return beside if len(beside.seats) >= len(whole.seats) else whole


def say_lever_worth(signals: Signals, car: Car, tests: Sequence[MarkedTest]) -> str | None:
    """How good a lever from two motion sensors is, or why it has no place in the gate; None for every other lever."""
    if signals.lever_u is None:
        return None
    try:
        return " ".join(describe_worth(fit_gate(signals, car, tests)))
    except (CannotMeasure, ProfileError) as why:
        return f"no lever position from two motion sensors: {why}"


def fit_gate_beside(signals: Signals, car: Car, tests: Sequence[MarkedTest], *, kinds: Sequence[str]) -> GateMap:
    """The gate map by the lever's log outside all marked spans of these kinds. CannotMeasure where it shows none."""
    assert signals.lever is not None
    cut = [(test.start_s, test.end_s) for test in tests if test.kind in kinds]
    return fit_gate_map(replace(signals, lever=_without(signals.lever, cut)), car)


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
