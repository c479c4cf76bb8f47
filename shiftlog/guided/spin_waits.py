"""Which pushes of a spin-down test are its tries, and how long the clutch had been down before each."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from shiftlog.errors import CannotMeasure
from shiftlog.guided.cards.clutch import WAITS_S
from shiftlog.guided.pushes import ANOTHER, Push
from shiftlog.model.car import REVERSE
from shiftlog.model.drive import MarkedTest
from shiftlog.model.trace import Trace
from shiftlog.signal.crossing import find_runs
from shiftlog.signal.resample import hold_last

FOLLOWS_U_S, SWITCH_U_S, COUNTS_U_S = 0.4, 0.1, 0.5
"""How well a person follows a beep; how far a clutch's own travel lies from its switch; how well a person counts
seconds (common practice, no source)."""
SWAYS_S = 1.5
"""A person who follows beeps is off by no more than three times ``FOLLOWS_U_S``, at both ends of a time."""
SAME_TRY_S = 4.0
"""What is pushed so soon after a try belongs to it: the card's next try comes eleven seconds later."""
STEP_S = 0.01
NO_CLUTCH = (
    "log the clutch switch or pedal, or keep to the card's prompts and mark the span from its first prompt, or type "
    "the waits with the mark"
)


@dataclass(frozen=True, eq=False, kw_only=True)
class Wait:
    """A push into reverse, how long the clutch was down before it [s], and the standard uncertainty of that."""

    push: Push
    wait_s: float
    u_s: float


def find_waits(
    test: MarkedTest, clutch: Trace | None, pushes: Sequence[Push]
) -> tuple[tuple[Wait, ...], tuple[str, ...]]:
    """The tries in order of time, and what is doubtful. CannotMeasure where there is none, or no wait is known."""
    if not pushes:
        raise CannotMeasure("the marked span holds no push at a gear; mark the span again")
    if all(_is_other(push) for push in pushes):
        gears = ", ".join(sorted({str(push.gear) for push in pushes}))
        raise CannotMeasure(f"no push into reverse: the marked span holds pushes at {gears} alone; mark the span again")
    if clutch is not None:
        return _by_clutch(test, clutch, pushes)
    return _as_typed(test, pushes) if test.waits_s else _by_card(test, pushes)


def _is_other(push: Push) -> bool:
    """Where gears have no names the place stayed at furthest off counts as reverse, as the card has it."""
    return push.gear is not None and push.gear != REVERSE


def _by_clutch(test: MarkedTest, clutch: Trace, pushes: Sequence[Push]) -> tuple[tuple[Wait, ...], tuple[str, ...]]:
    at = np.arange(test.start_s, test.end_s, STEP_S)
    down = hold_last(clutch.time_s, clutch.values, at) > 0.5
    u_s = float(np.hypot(SWITCH_U_S, 1 / (clutch.rate_hz * np.sqrt(12))))
    found, spoilt = [], []
    for a, b in find_runs(down):
        inside = [p for p in pushes if at[a] <= p.touches_s <= at[b - 1] + STEP_S]
        if a == 0 or all(_is_other(p) for p in inside):
            continue
        if _is_other(inside[0]) or ANOTHER in (inside[0].gear, inside[-1].gear):
            spoilt.append(inside[0])
        else:
            found.append(Wait(push=inside[0], wait_s=float(inside[0].touches_s - at[a]), u_s=u_s))
    if not found and not spoilt:
        raise CannotMeasure("no push into reverse follows a clutch that went down in the marked span; mark it again")
    return _unspoilt(found, spoilt)


def _by_card(test: MarkedTest, pushes: Sequence[Push]) -> tuple[tuple[Wait, ...], tuple[str, ...]]:
    """Waits of the card's prompts, where the times between the pushes bear them out."""
    tries = _tries_by_time(pushes)
    why = _against_card(test, [push for push, _ in tries])
    if why:
        raise CannotMeasure(f"no clutch channel is logged and {why}, so that the waits are not known: {NO_CLUTCH}")
    told = "no clutch channel is logged: the waits are those of the card, 10, 5, 3, 2, 1 s, as the times of pushes fit"
    return _named(tries, WAITS_S[: len(tries)], FOLLOWS_U_S, told)


def _as_typed(test: MarkedTest, pushes: Sequence[Push]) -> tuple[tuple[Wait, ...], tuple[str, ...]]:
    """One typed wait for each try, which cannot come sooner after the one before than it was waited for."""
    tries = _tries_by_time(pushes)
    at_s = [push.touches_s for push, _ in tries]
    if len(tries) != len(test.waits_s):
        raise CannotMeasure(
            f"{len(test.waits_s)} waits are typed, and the marked span holds {len(tries)} tries, at "
            f"{', '.join(f'{at:.1f}' for at in at_s)} s; type one wait for each try, in order"
        )
    between = np.diff([test.start_s, *at_s])
    for at, passed, wait in zip(at_s, between, test.waits_s, strict=True):
        if passed < wait - SWAYS_S:
            raise CannotMeasure(
                f"the try at {at:.1f} s comes {passed:.1f} s after the one before or the mark's start: too soon for "
                f"the typed wait of {wait:g} s; correct the waits or the span"
            )
    told = f"no clutch channel is logged: the waits are those typed, {', '.join(f'{w:g}' for w in test.waits_s)} s"
    return _named(tries, test.waits_s, COUNTS_U_S, told)


def _named(
    tries: list[tuple[Push, Push | None]], waits_s: Sequence[float], u_s: float, told: str
) -> tuple[tuple[Wait, ...], tuple[str, ...]]:
    """Each try with the wait that is known of it, but for those that went through another gear."""
    named = zip(tries, waits_s, strict=True)
    found = [Wait(push=p, wait_s=wait, u_s=u_s) for (p, through), wait in named if through is None]
    waits, doubts = _unspoilt(found, [through for _, through in tries if through is not None])
    return waits, (told, *doubts)


def _tries_by_time(pushes: Sequence[Push]) -> list[tuple[Push, Push | None]]:
    """First pushes into reverse, each with the other gear that the hand went through since the try before."""
    tries: list[tuple[Push, Push | None]] = []
    via, ends_s = None, -np.inf
    for push in pushes:
        if push.leaves_s - ends_s < SAME_TRY_S:
            ends_s = push.over_s
        elif _is_other(push):
            via = via or push
        else:
            tries.append((push, via))
            via, ends_s = None, push.over_s
    return tries


def _against_card(test: MarkedTest, tries: Sequence[Push]) -> str | None:
    """What speaks against the card's waits, or None: between two tries lies the next wait and what never changes."""
    if len(tries) > len(WAITS_S):
        return f"{len(tries)} tries are more than the card's {len(WAITS_S)}"
    waits = np.array(WAITS_S[: len(tries)])
    between = np.diff([test.start_s, *(push.touches_s for push in tries)]) - waits
    if between[0] < -SWAYS_S:
        return "the first push comes sooner than the card's first wait"
    if len(tries) > 1 and np.ptp(between[1:]) > 2 * SWAYS_S or np.any(between[1:] < 0):
        return "the pushes do not come at the times of the card's prompts"
    return None


def _unspoilt(found: list[Wait], spoilt: list[Push]) -> tuple[tuple[Wait, ...], tuple[str, ...]]:
    """The tries straight into reverse. CannotMeasure where all went through another gear first."""
    if not spoilt:
        return tuple(found), ()
    gears = ", ".join(sorted({push.gear or ANOTHER for push in spoilt}))
    through = f"went through {gears} first, whose synchroniser stops the shaft: such a push tells nothing of the clutch"
    if not found:
        raise CannotMeasure(f"every try {through}; do it again, from neutral straight into reverse")
    times = ", ".join(f"{push.touches_s:.1f}" for push in spoilt)
    return tuple(found), (f"left out, as the hand {through}: at {times} s",)
