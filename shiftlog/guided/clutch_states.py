"""Where the clutch pedal was over a span: up, just touched, down; from its channel, else from the mark's words."""

import numpy as np

from shiftlog.model.drive import MarkedTest, Signals
from shiftlog.signal.crossing import find_runs
from shiftlog.signal.resample import hold_last

UP, TOUCHED, DOWN = "clutch up", "just touched", "clutch down"
STATES = (UP, TOUCHED, DOWN)
TOUCHES, FULL = 0.04, 0.75
"""Shares of the pedal's travel: off its stop, and fully down (common practice, no source)."""
ENDS, REST_MOST, LEAST_TRAVEL = (0.02, 0.98), 0.2, 0.5
"""Quantiles of what was logged between which the pedal goes; few sensors read nothing at its stop and all at the floor
(common practice, no source)."""
LEAST_S, GUARD_S, STEP_S = 2.0, 0.4, 0.02
"""A state held for less is on its way to another; what the foot does at both ends is left out."""

CARD_S, FOLLOWS_S = 10.0, 2.0
"""Each state's time on the card, and what a foot takes to follow a prompt and hold still."""

Spans = dict[str, list[tuple[float, float]]]


def find_clutch_states(test: MarkedTest, signals: Signals) -> Spans:
    """Spans of each state within a marked one. A switch, which knows two positions, tells up from down alone."""
    word = state_of_words(test.configuration)
    if word is not None:
        return {word: [(test.start_s, test.end_s)]}
    clutch = signals.clutch
    if clutch is None:
        return _by_the_card(test)
    at = np.arange(test.start_s, test.end_s, STEP_S)
    pedal = hold_last(clutch.time_s, clutch.values, at)
    is_switch = np.unique(np.round(clutch.values, 3)).size <= 2
    rest, floor = np.quantile(clutch.values, ENDS)
    rest = min(float(rest), REST_MOST)
    pedal = (pedal - rest) / max(float(floor) - rest, LEAST_TRAVEL)
    level = np.where(pedal >= (0.5 if is_switch else FULL), 2, np.where(pedal <= (0.5 if is_switch else TOUCHES), 0, 1))
    spans: Spans = {}
    for index, state in enumerate(STATES):
        held = [(float(at[a]), float(at[b - 1])) for a, b in find_runs(level == index)]
        held = [(a + GUARD_S, b - GUARD_S) for a, b in held if b - a >= LEAST_S]
        if held:
            spans[state] = held
    return spans


def _by_the_card(test: MarkedTest) -> Spans:
    """Ten seconds each in the card's order, over and over; nothing where the span is too short for all three."""
    spans: Spans = {}
    rounds = int((test.end_s - test.start_s) // (len(STATES) * CARD_S))
    for k in range(rounds * len(STATES)):
        first = test.start_s + k * CARD_S
        spans.setdefault(STATES[k % len(STATES)], []).append((first + FOLLOWS_S, first + CARD_S - GUARD_S))
    return spans


def state_of_words(configuration: str | None) -> str | None:
    """The state that the mark itself names, or None."""
    words = (configuration or "").lower()
    if "touch" in words:
        return TOUCHED
    if "clutch" in words or "pedal" in words:
        return UP if " up" in f" {words}" else DOWN if "down" in words else None
    return None
