"""The likeliest course of a release test: on which stands a hand held the lever, and on which it lay let go.

A lever is led out, held, let go, and then runs, creeps or stays until it is taken again. Each stand is held, is where
a let-go begins to lie, or goes on lying. A hand trembles; it leads the lever from a place where it lay; a lever runs by
itself only from a place where it was held. The course that explains the whole test best is found by dynamic
programming (Viterbi, IEEE Trans. Inf. Theory 13, 1967). All scores are natural logarithms of odds.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from shiftlog.detect.stands import SHARED, Alone, Stand
from shiftlog.signal.robust import robust_sigma
from shiftlog.signal.tremor import TOUCHED_TIMES, touch_odds

HELD, LET_GO, LIES_ON, LED_THERE = range(4)
NEVER = -1e9
MOVED_MM, SHIFT_MM = 3.0, 1.0
"""From the first on the shape of a way tells a hand from a spring; less than the second is no motion."""
MOST_SHAPE, MOST_TOUCH, MOST_SWAY = 4.0, 10.0, 5.0
"""One way, one stand, says no more than this: a hand may be odd once."""
LET_GO_STILL, GRIPPED_STILL = -1.0, -3.0
"""A hand that goes off or comes on without any motion."""
SHIFTED_ALONE = -2.0
HOLD_FELT_UNSEEN, HOLD_UNFELT = -3.0, -1.0
"""Led there and let go with no hold that was felt, for a hand that else is felt and for one that never is."""
STARTS_ALONE, RUNS_ON = -8.0, -1.0
"""A lying lever that begins to run with no hand on it; one that had only just stopped, and runs on."""
LEFT_ALONE_S, TOO_SHORT = 0.4, -4.0
"""A lever that was let go is left alone for so long."""
HOLD_S, HOLDS_ON = 1.5, -2.0
"""A hold lasts about a second; each second beyond this costs so much."""
TOWARDS_MM, MOST_TOWARDS, MOST_AWAY = 2.0, 2.0, -6.0
"""A lever runs towards where its runs lead: so much a point, and no more than so many."""
AS_BUILT = 1 / 3
"""What the home plane weighs against that as long as the test itself has not shown where the runs lead."""
MOST_SPREAD_MM = 8.0
"""Of where the runs end, one standard deviation: from here on they lead to no one place."""
LET_GO_AT_ONCE = -2.0
"""A lever that was held for less than ``LEFT_ALONE_S`` before it ran."""
LEAST_TREMBLE, MOST_TREMBLE = 1.3, 30.0
"""Below the first, times the power of a lever left alone, a hand is not felt."""
LEAST_BLOCKS = 3
UNEXPLAINED = 2.5
"""So much worse for each way a trembling hand may explain a test before a still one is taken for granted."""
ROUNDS = 4
LEAST_RUNS = 3
"""Fewer do not show where a lever's runs lead, nor how long they take."""
PACE_SPREAD, MOST_PACE, LEAST_PACE = 0.2, 0.5, -3.0
"""Runs of one lever take alike long, to no less than the first (natural logarithm); one that does not is a hand's."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Link:
    """From one stand to the next.

    moved_mm : signed; odds : that the lever ran it by itself, from its shape; lay_s : how long it was there before
    lasts_s : how long the way took, None where that is not known
    """

    moved_mm: float
    odds: float
    lay_s: float
    lasts_s: float | None = None


@dataclass(frozen=True, eq=False, kw_only=True)
class Chain:
    """The stands of one stretch in neutral and the links between them; opens : whether it begins the test."""

    stands: Sequence[Stand]
    links: Sequence[Link]
    opens: bool


@dataclass(frozen=True, eq=False, kw_only=True)
class Habit:
    """What the test shows of hand and lever.

    alone : of a lever left alone; trembles, sways : of the hand, in times of it, 1 where it is not felt
    home_mm : where the lever's runs lead; shown : whether the test shows that, or it is where the gate has its home
    pace : natural logarithm of how long its runs take [s], and the spread of that; None where too few ran
    """

    alone: Alone
    trembles: float = TOUCHED_TIMES
    sways: float = TOUCHED_TIMES
    home_mm: float
    shown: bool = False
    pace: tuple[float, float] | None = None


def find_course(chains: Sequence[Chain], alone: Alone, home_mm: float) -> tuple[tuple[int, ...], ...]:
    """For each chain the state of each stand: ``HELD``, ``LET_GO``, ``LIES_ON`` or ``LED_THERE`` and let go unseen.

    home_mm : where the gate has its home
    How much the hand trembles and where the runs lead to is learnt from the course before.
    """
    felt = _settle(chains, Habit(alone=alone, home_mm=home_mm))
    if _shows_hand(chains, felt.states):
        return felt.states
    # No hold lasted long enough to show whether this hand trembles. Most do; one that does not is taken for granted
    # only where a trembling one cannot explain the test.
    still = _settle(chains, Habit(alone=alone, home_mm=home_mm, trembles=1.0, sways=1.0))
    moves = sum(abs(link.moved_mm) >= MOVED_MM for chain in chains for link in chain.links)
    return felt.states if felt.score >= still.score - UNEXPLAINED * moves else still.states


@dataclass(frozen=True, eq=False, kw_only=True)
class _Course:
    """States of each chain, and how well all of them are explained."""

    states: tuple[tuple[int, ...], ...]
    score: float


def _settle(chains: Sequence[Chain], start: Habit) -> _Course:
    """The course and the habit that agree with one another, from a habit taken for granted."""
    habit, states, score = start, (), 0.0
    for _ in range(ROUNDS):
        decoded = [_decode(chain, habit) for chain in chains]
        before, states, score = states, tuple(s for s, _ in decoded), sum(worth for _, worth in decoded)
        if states == before:
            break
        habit = _learn(chains, states, start)
    return _Course(states=states, score=score)


def _shows_hand(chains: Sequence[Chain], states: Sequence[Sequence[int]]) -> bool:
    return any(
        state == HELD and stand.blocks >= LEAST_BLOCKS
        for chain, some in zip(chains, states, strict=True)
        for stand, state in zip(chain.stands, some, strict=True)
    )


def _learn(chains: Sequence[Chain], states: Sequence[Sequence[int]], start: Habit) -> Habit:
    pairs = [p for chain, some in zip(chains, states, strict=True) for p in zip(chain.stands, some, strict=True)]
    held = [stand for stand, state in pairs if state == HELD]
    lies = [stand for stand, state in pairs if state != HELD]
    power, trembles = _over(
        *([s.power_mm2 for s in some if s.blocks >= LEAST_BLOCKS] for some in (held, lies)),
        start.alone.power_mm2, start.trembles,
    )  # fmt: skip
    sway, sways = _over(
        *([s.sway_mm2 for s in some if s.sway_blocks >= LEAST_BLOCKS] for some in (held, lies)),
        start.alone.sway_mm2, start.sways,
    )  # fmt: skip
    ran = _runs(chains, states)
    home = _home([end_mm for end_mm, _ in ran])
    return Habit(
        alone=Alone(power_mm2=power, sway_mm2=sway), trembles=trembles, sways=sways, shown=home is not None,
        home_mm=start.home_mm if home is None else home, pace=_pace([s for _, s in ran if s is not None]),
    )  # fmt: skip


def _over(held: Sequence[float], lies: Sequence[float], least: float, unknown: float) -> tuple[float, float]:
    """What a lying lever shows, and what a held one shows in times of it; medians, as some are judged wrongly.

    unknown : what is taken for granted as long as no hold lasted long enough to tell
    """
    floor = max(float(np.median(lies)) if lies else least, least)
    if not held:
        return floor, unknown
    times = min(float(np.median(held)) / floor, MOST_TREMBLE)
    return floor, times if times >= LEAST_TREMBLE else 1.0


def _runs(chains: Sequence[Chain], states: Sequence[Sequence[int]]) -> list[tuple[float, float | None]]:
    """Where each run ended [mm], and how long it took [s]."""
    return [
        (chain.stands[k + 1].select_mm, link.lasts_s)
        for chain, some in zip(chains, states, strict=True)
        for k, link in enumerate(chain.links)
        if some[k] == HELD and some[k + 1] == LET_GO and abs(link.moved_mm) >= MOVED_MM
    ]


def _home(ends_mm: Sequence[float]) -> float | None:
    if len(ends_mm) < LEAST_RUNS or robust_sigma(np.array(ends_mm)) > MOST_SPREAD_MM:
        return None
    return float(np.median(ends_mm))


def _pace(lasts_s: Sequence[float]) -> tuple[float, float] | None:
    if len(lasts_s) < LEAST_RUNS:
        return None
    logs = np.log(lasts_s)
    return float(np.median(logs)), max(robust_sigma(logs), PACE_SPREAD)


def _decode(chain: Chain, habit: Habit) -> tuple[tuple[int, ...], float]:
    """The best states of one chain, and their score."""
    stands = chain.stands
    best = np.array([0.0, NEVER, -1.0 if chain.opens else NEVER, _unseen(habit)]) + _own(stands[0], habit)
    came_from = np.zeros((len(stands), 4), int)
    for k in range(1, len(stands)):
        step = best[:, None] + _change(stands[k - 1], stands[k], chain.links[k - 1], habit)
        came_from[k] = np.argmax(step, axis=0)
        best = np.max(step, axis=0) + _own(stands[k], habit)
    states = [int(np.argmax(best))]
    for k in range(len(stands) - 1, 0, -1):
        states.append(int(came_from[k][states[-1]]))
    return tuple(states[::-1]), float(np.max(best))


def _unseen(habit: Habit) -> float:
    return HOLD_FELT_UNSEEN if habit.trembles > 1 else HOLD_UNFELT


def _own(stand: Stand, habit: Habit) -> np.ndarray:
    tremor = stand.blocks * float(touch_odds(stand.power_mm2 / habit.alone.power_mm2, habit.trembles))
    sway = stand.sway_blocks / SHARED * float(touch_odds(stand.sway_mm2 / habit.alone.sway_mm2, habit.sways))
    odds = float(np.clip(tremor, -MOST_TOUCH, MOST_TOUCH) + np.clip(sway, -MOST_SWAY, MOST_SWAY))
    held = HOLDS_ON * max(stand.seconds - HOLD_S, 0.0) if odds <= 0 else 0.0
    return np.array([odds + held, 0.0, 0.0, 0.0])


def _change(before: Stand, after: Stand, link: Link, habit: Habit) -> np.ndarray:
    """Score of each change of state, (4, 4): from, to."""
    short = link.lay_s < LEFT_ALONE_S
    too_short = TOO_SHORT if short else 0.0
    if abs(link.moved_mm) < MOVED_MM:
        shifts = SHIFTED_ALONE if abs(link.moved_mm) > SHIFT_MM and not short else 0.0
        alone = [GRIPPED_STILL - shifts + too_short, NEVER, shifts, NEVER]
        return np.array([[0.0, LET_GO_STILL, NEVER, NEVER], alone, alone, alone])
    shape = float(np.clip(link.odds / 2, -MOST_SHAPE, MOST_SHAPE))
    ran, led = shape + _towards(after, link, habit) + _in_pace(link, habit), -shape
    alone = [led + too_short, NEVER, ran + (RUNS_ON if short else STARTS_ALONE), led + too_short + _unseen(habit)]
    held = [led, ran + (LET_GO_AT_ONCE if short else 0.0), NEVER, led + _unseen(habit)]
    return np.array([held, alone, alone, alone])


def _towards(after: Stand, link: Link, habit: Habit) -> float:
    nearer = abs(after.select_mm - link.moved_mm - habit.home_mm) - abs(after.select_mm - habit.home_mm)
    return float(np.clip(nearer / TOWARDS_MM, MOST_AWAY, MOST_TOWARDS)) * (1.0 if habit.shown else AS_BUILT)


def _in_pace(link: Link, habit: Habit) -> float:
    if habit.pace is None or link.lasts_s is None:
        return 0.0
    off = (float(np.log(link.lasts_s)) - habit.pace[0]) / habit.pace[1]
    return max(MOST_PACE - off**2 / 2, LEAST_PACE)
