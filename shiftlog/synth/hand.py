"""The driver's hand: how a lever is drawn out, led across the gate, pushed in, refused and let go."""

from dataclasses import dataclass, field

import numpy as np

from shiftlog.model.car import GateLayout
from shiftlog.synth.health import Health
from shiftlog.synth.path import ENGAGE, SELECT, StrokePlan
from shiftlog.synth.rest_motion import run_home

CRASH_DEPTH = 0.4
WALL_MM = 2.0
"""How far the gate's end walls lie beyond the outermost planes."""


@dataclass(frozen=True, kw_only=True)
class Style:
    """One shift's handwriting: durations [s] of drawing out, crossing and pushing in, and their shape.

    overlap : how far the push begins before the draw ends; corner : when crossing begins, share of the draw
    press_mm : how far past the seat the lever is pressed, press_s : for how long
    """

    out_s: float
    cross_s: float
    in_s: float
    overlap: float
    corner: float
    skew: float
    press_mm: float
    press_s: float


@dataclass(frozen=True, kw_only=True)
class Push:
    """One push towards a gear: it stands at ``depth`` for ``stand_s``; ``fall_to`` where it is refused.

    With ``depth`` None it goes straight in; with a depth and no ``fall_to`` it stands, then goes in. With ``crash_s``
    teeth that clash slow it from ``CRASH_DEPTH`` on, for so long.
    """

    depth: float | None = None
    crash_s: float = 0.0
    stand_s: float = 0.0
    fall_to: float | None = None
    again_s: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Moved:
    """When the lever left, was surely in neutral, went in, and surely lay there [s]."""

    begin_s: float
    out_s: float
    neutral_s: float
    in_s: float
    settle_s: float


@dataclass(frozen=True, kw_only=True)
class Touch:
    """A span in which something trembles: a hand on the lever, or teeth that chatter [mm, Hz]."""

    start_s: float
    end_s: float
    amount_mm: float
    frequency_hz: float
    wander_mm: float = 0.0


def draw_style(rng: np.random.Generator, *, hurry: float) -> Style:
    """A shift at random; ``hurry`` 1 is brisk, 2 twice as fast."""
    unit = rng.lognormal(np.log(0.15 / hurry), 0.28)
    return Style(
        out_s=unit * rng.uniform(0.7, 1.3),
        cross_s=unit * rng.uniform(0.8, 1.6),
        in_s=unit * rng.uniform(0.7, 1.4),
        overlap=rng.uniform(0.0, 0.45),
        corner=rng.uniform(0.62, 1.0),
        skew=rng.uniform(-0.45, 0.45),
        press_mm=float(rng.choice([0.0, rng.uniform(0.3, 1.3)], p=[0.4, 0.6])),
        press_s=rng.uniform(0.05, 0.5),
    )


@dataclass(eq=False, kw_only=True)
class Hand:
    """Writes strokes into a plan; positions in gate mm, times in s."""

    gate: GateLayout
    health: Health
    rng: np.random.Generator
    plan: StrokePlan
    tremor: list[Touch] = field(default_factory=list)
    chatter: list[Touch] = field(default_factory=list)

    def seat(self, gear: str) -> tuple[float, float]:
        """Where the lever lies in a gear on this car."""
        place, off = self.gate.position_mm(gear), self.health.seat_off_mm.get(gear, (0.0, 0.0))
        return place[0] + off[0], place[1] + off[1]

    def shift(
        self,
        start_s: float,
        to: str,
        *,
        style: Style,
        pushes: tuple[Push, ...] = (Push(),),
        pause_s: float = 0.0,
        hesitate_s: float = 0.0,
    ) -> Moved:
        """From wherever the lever is into ``to``; every push but the last is refused."""
        begin_s = start_s
        if hesitate_s:
            start_s = self._hesitate(start_s, hesitate_s)
        out_end = self.draw_out(start_s, style=style)
        push_s, neutral_s = self.cross(start_s, out_end, to, style=style, pause_s=pause_s)
        for push in pushes[:-1]:
            push_s = self.refuse(push_s, to, push, style=style)
        in_s = self._push_in(push_s, to, pushes[-1], style=style)
        settle_s = self._settle(in_s, to, style=style)
        return Moved(begin_s=begin_s, out_s=out_end, neutral_s=neutral_s, in_s=in_s, settle_s=settle_s)

    def draw_out(self, start_s: float, *, style: Style) -> float:
        """Out of gear to the neutral line; returns when it is there. At once where it is in neutral already."""
        if abs(self.plan.at[ENGAGE]) < 3.0:
            return start_s
        rest = float(np.clip(self.rng.normal(0, 0.3), -0.8, 0.8))
        return self.plan.go(ENGAGE, rest, start_s=start_s, duration_s=style.out_s, skew=style.skew)

    def refuse(self, start_s: float, gear: str, push: Push, *, style: Style) -> float:
        """A push that is refused and falls back; returns when the hand is ready to push again."""
        stood_s = self._stand(start_s, gear, push, style=style)
        back_s = self.rng.uniform(0.06, 0.15)
        seat = self.seat(gear)[1]
        fallen = self.plan.go(ENGAGE, push.fall_to * seat, start_s=stood_s, duration_s=back_s)
        return fallen + push.again_s

    def move(self, start_s: float, select_mm: float, *, duration_s: float) -> float:
        """Lead the lever across in neutral."""
        skew = self.rng.uniform(-0.3, 0.3)
        return self.plan.go(SELECT, select_mm, start_s=start_s, duration_s=duration_s, skew=skew)

    def let_go(self, start_s: float) -> tuple[float, float, float]:
        """Take the hand away in neutral: (when it lies still, from where, how far it ran) [s, mm, mm]."""
        from_mm = self.plan.at[SELECT]
        planes = [self.gate.plane_mm(i) for i in range(len(self.gate.planes))]
        walls = (min(planes[0] - WALL_MM, from_mm), max(planes[-1] + WALL_MM, from_mm))
        course = run_home(self.health.spring, from_mm, walls_mm=walls)
        end_s = self.plan.run(SELECT, course, start_s=start_s)
        return end_s, from_mm, float(course[-1])

    def lean(self, start_s: float, gear: str, *, seconds: float) -> None:
        """A hand that lies on the lever in gear, and goes again."""
        seat, gentle = self.seat(gear), self.rng.uniform(0.15, 0.4)
        for axis, most in ((SELECT, 0.6), (ENGAGE, 1.2)):
            aside = seat[axis] + self.rng.uniform(-most, most)
            self.plan.go(axis, aside, start_s=start_s, duration_s=gentle)
            self.plan.go(axis, seat[axis], start_s=start_s + seconds - gentle, duration_s=gentle)
        self.feel(start_s, start_s + seconds)

    def feel(self, start_s: float, end_s: float) -> None:
        """A hand on the lever between two times: tremor of 8 to 12 Hz and a slow wander."""
        touch = Touch(
            start_s=start_s,
            end_s=end_s,
            amount_mm=self.rng.uniform(0.08, 0.14),
            frequency_hz=self.rng.uniform(8, 12),
            wander_mm=self.rng.uniform(0.1, 0.5),
        )
        self.tremor.append(touch)

    def _hesitate(self, start_s: float, seconds: float) -> float:
        at = self.plan.at[ENGAGE]
        there = self.plan.go(ENGAGE, at * self.rng.uniform(0.80, 0.85), start_s=start_s, duration_s=0.08)
        return there + seconds

    def cross(
        self, start_s: float, out_end: float, to: str, *, style: Style, pause_s: float = 0.0
    ) -> tuple[float, float]:
        """Across to the plane of ``to``; returns (when the push begins, a time surely in neutral)."""
        target, pause_first = self.seat(to)[0], self.rng.random() < 0.5
        way = abs(target - self.plan.at[SELECT]) / self.gate.plane_pitch_mm
        if way < 0.5:
            self.move(out_end, target, duration_s=0.5 * style.in_s)
            ready = out_end + pause_s if pause_s else out_end - style.overlap * min(style.out_s, style.in_s)
            return (max(ready, start_s), out_end)
        cross_s = style.cross_s * (1 + 0.35 * (way - 1))
        leave = start_s + style.corner * max(out_end - start_s, 0.0)
        if pause_s and pause_first:
            leave = out_end + pause_s
        there = self.move(leave, target, duration_s=cross_s)
        if pause_s and not pause_first:
            return there + pause_s, there
        return max(leave + 0.5 * cross_s, there - 0.12 * cross_s - 0.42 * style.in_s), leave + 0.5 * cross_s

    def _push_in(self, start_s: float, gear: str, push: Push, *, style: Style) -> float:
        seat = self.seat(gear)[1]
        past = seat + np.sign(seat) * style.press_mm * abs(self.gate.engage_travel_mm) / 30
        if push.crash_s:
            met_s = self.plan.go(ENGAGE, CRASH_DEPTH * seat, start_s=start_s, duration_s=0.7 * style.in_s)
            return self.plan.go(ENGAGE, past, start_s=met_s - 0.25 * style.in_s, duration_s=push.crash_s)
        if push.depth is None:
            return self.plan.go(ENGAGE, past, start_s=start_s, duration_s=style.in_s, skew=style.skew)
        stood_s = self._stand(start_s, gear, push, style=style)
        return self.plan.go(ENGAGE, past, start_s=stood_s, duration_s=style.in_s * self.rng.uniform(0.4, 0.8))

    def _stand(self, start_s: float, gear: str, push: Push, *, style: Style) -> float:
        """Up to where the cone holds it, and there it stands, creeping and chattering; returns when it ends."""
        seat = self.seat(gear)[1]
        here = abs(push.depth - self.plan.at[ENGAGE] / seat)
        reach = style.in_s * np.clip(here, 0.3, 1.0) * 0.9
        there = self.plan.go(ENGAGE, push.depth * seat, start_s=start_s, duration_s=reach)
        if push.stand_s <= 0.02:
            return there
        creep = push.depth + min(self.rng.uniform(0.0, 0.06), 0.25 * push.stand_s)
        self.plan.go(ENGAGE, creep * seat, start_s=there, duration_s=push.stand_s)
        if self.rng.random() < 0.6:
            amount, hz = self.rng.uniform(0.1, 0.45), self.rng.uniform(18, 50)
            self.chatter.append(Touch(start_s=there, end_s=there + push.stand_s, amount_mm=amount, frequency_hz=hz))
        return there + push.stand_s

    def _settle(self, in_s: float, gear: str, *, style: Style) -> float:
        select, engage = self.seat(gear)
        if style.press_mm == 0.0:
            return in_s + 0.02
        let = in_s + style.press_s
        self.plan.go(SELECT, select, start_s=let, duration_s=0.1)
        return self.plan.go(ENGAGE, engage, start_s=let, duration_s=self.rng.uniform(0.06, 0.2))
