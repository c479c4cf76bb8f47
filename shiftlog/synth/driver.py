"""The driver's acts: hand and feet together, each act written down as it is done."""

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from shiftlog.model.drive import MarkedTest
from shiftlog.synth.cars import SynthCar
from shiftlog.synth.cone import Meeting, meet_cone
from shiftlog.synth.hand import Hand, Moved, Push, Style, draw_style
from shiftlog.synth.health import Health
from shiftlog.synth.path import ENGAGE, SELECT, StrokePlan
from shiftlog.synth.pedals import Controls
from shiftlog.synth.script import JourneyScript, RestScript
from shiftlog.synth.synchro import Synchro, draw_synchro
from shiftlog.synth.vehicle import Vehicle

LOOK_S = 0.2
"""How often the driver looks at speed and engine speed; people correct a pedal a few times a second."""

LEAST_STAY_S = 0.9
"""A gear that was meant is kept longer than the 0.8 s by which a wrong one is told."""

LEAST_WAY_MM = 3.0
"""A lever that moved less than this made no motion by which a release or a hand could be told."""


@dataclass(eq=False, kw_only=True)
class Driver:
    """A driver in a car; ``now`` is how far the drive has come. Every method moves it on."""

    synth_car: SynthCar
    health: Health
    rng: np.random.Generator
    hurry: float = 1.0
    hand: Hand = field(init=False)
    controls: Controls = field(default_factory=Controls)
    vehicle: Vehicle = field(init=False)
    synchro: Synchro = field(init=False)
    cones: np.random.Generator = field(init=False)
    journeys: list[JourneyScript] = field(default_factory=list)
    rests: list[RestScript] = field(default_factory=list)
    marks: list[MarkedTest] = field(default_factory=list)
    gear: str | None = None
    now: float = 0.0

    def __post_init__(self) -> None:
        spring = self.health.spring
        at = spring.centre_mm + min(spring.friction_mm, 12.0) * self.rng.uniform(-0.8, 0.8)
        plan = StrokePlan(at=[at, float(self.rng.uniform(-0.6, 0.6))])
        self.hand = Hand(gate=self.synth_car.car.gate, health=self.health, rng=self.rng, plan=plan)
        self.vehicle = Vehicle(synth_car=self.synth_car, controls=self.controls)
        self.cones = self.rng.spawn(1)[0]
        self.synchro = draw_synchro(self.synth_car, self.health, self.cones)

    @property
    def speed(self) -> float:
        """Speed now, without sign [m/s]."""
        return abs(self.vehicle.speed)

    def rpm_in(self, gear: str) -> float:
        """Engine speed this gear would mean at the speed of now."""
        return self.speed * self.synth_car.car.rpm_per_mps(gear)

    def wait(self, seconds: float) -> None:
        """Let the drive go on with everything as it is."""
        self._run_to(self.now + seconds)

    def drive(self, *, throttle: float, until: Callable[[], bool], longest_s: float) -> None:
        """Hold the throttle until something is reached, or ``longest_s`` has passed."""
        self.controls.throttle.to(throttle, start_s=self.now + 0.02, over_s=self.rng.uniform(0.2, 0.6))
        stop = self.now + longest_s
        while self.now < stop and not until():
            self.wait(LOOK_S)

    def slow(self, *, brake: float, until: Callable[[], bool], longest_s: float) -> None:
        """Brake (or coast, with 0) until something is reached; the clutch goes down before the engine stalls."""
        self.controls.throttle.to(0.0, start_s=self.now + 0.02, over_s=0.2)
        self.controls.brake.to(brake, start_s=self.now + 0.1, over_s=0.4)
        stop = self.now + longest_s
        while self.now < stop and not until():
            self.wait(LOOK_S)
            if self.gear and self.rpm_in(self.gear) < 1.1 * self.synth_car.idle_rpm:
                self.clutch_down()
        self.controls.brake.to(0.0 if self.speed > 0.2 else 0.2, start_s=self.now + 0.02, over_s=0.25)

    def clutch_down(self) -> None:
        """Press the clutch, if it is not down."""
        if self.controls.clutch.value < 0.5:
            self.controls.clutch.to(1.0, start_s=self.now + 0.01, over_s=self.rng.uniform(0.1, 0.2))

    def change(
        self,
        to: str,
        *,
        pushes: tuple[Push, ...] = (Push(),),
        style: Style | None = None,
        pause_s: float = 0.0,
        hesitate_s: float = 0.0,
        blip: float = 0.0,
        hold_clutch: bool = False,
        via: tuple[str, ...] = (),
        outcome: str | None = None,
        throttle: float = 0.3,
    ) -> Moved:
        """One journey into ``to``; written down unless it is a step of a longer one (``via`` not yet at its end)."""
        style = style or self.draw_style()
        free_rpm = self.rpm_in(self.gear) if self.gear else self.vehicle.rpm
        meeting = Meeting(old=self.gear, to=to, style=style, speed_mps=self.speed, free_rpm=free_rpm)
        pushes, crashed = meet_cone(pushes, meeting, self.synth_car, self.synchro, self.cones)
        start_s = self._lift()
        moved = self.hand.shift(start_s, to, style=style, pushes=pushes, pause_s=pause_s, hesitate_s=hesitate_s)
        self._tell_gearbox(moved, to, style)
        if blip:
            self.controls.throttle.to(blip, start_s=moved.neutral_s, over_s=0.1)
            self.controls.throttle.to(0.0, start_s=max(moved.neutral_s + 0.12, moved.in_s - 0.05), over_s=0.1)
        if self.gear is None:
            self.rests.append(RestScript(start_s=moved.begin_s, end_s=moved.in_s, how="guided"))
        self._write(self.gear or "N", to, "through", moved, via=via, outcome=outcome, crashed=crashed)
        self.gear = to
        self._run_to(moved.in_s + 0.04) if hold_clutch else self.take_up(moved, throttle=throttle)
        return moved

    def row(self, gears: tuple[str, ...], *, throttle: float) -> None:
        """Down through several gears with the clutch held, one journey with ``via``."""
        first, begin = self.gear, None
        for gear in gears[:-1]:
            style = self.draw_style(press=False)
            moved = self.hand.shift(self._lift(), gear, style=style)
            begin = begin or moved
            self._tell_gearbox(moved, gear, style)
            self.gear = gear
            self._run_to(moved.in_s + self.rng.uniform(0.18, 0.5))
        style = self.draw_style()
        moved = self.hand.shift(self.now, gears[-1], style=style)
        self._tell_gearbox(moved, gears[-1], style)
        whole = Moved(
            begin_s=begin.begin_s,
            out_s=begin.out_s,
            neutral_s=begin.neutral_s,
            in_s=moved.in_s,
            settle_s=moved.settle_s,
        )
        self._write(first, gears[-1], "through", whole, via=gears[:-1])
        self.gear = gears[-1]
        self.take_up(moved, throttle=throttle)

    def miss(self, to: str, *, pushes: tuple[Push, ...], back: bool, throttle: float) -> None:
        """Refused by ``to``: back into the old gear, or left in neutral for good (the stay follows)."""
        old, start_s, style = self.gear, self._lift(), self.draw_style()
        out_s = self.hand.draw_out(start_s, style=style)
        push_s, neutral_s = self.hand.cross(start_s, out_s, to, style=style)
        for push in pushes:
            push_s = self.hand.refuse(push_s, to, push, style=style)
        self.controls.gear.engage(None, at_s=start_s + 0.35 * style.out_s)
        if back:
            moved = self.hand.shift(push_s, old, style=style)
            whole = Moved(begin_s=start_s, out_s=out_s, neutral_s=neutral_s, in_s=moved.in_s, settle_s=moved.settle_s)
            self.controls.gear.engage(old, at_s=moved.in_s)
            self._write(old, to, "back", whole)
            self.take_up(moved, throttle=throttle)
            return
        home = self.hand.plan.go(ENGAGE, 0.0, start_s=push_s, duration_s=0.12)
        whole = Moved(begin_s=start_s, out_s=out_s, neutral_s=neutral_s, in_s=home, settle_s=home)
        self._write(old, to, "stuck", whole)
        self.gear = None
        self._run_to(home)

    def out_and_back(self, *, dwell_s: float, throttle: float) -> None:
        """Out of gear, a change of mind, and in again."""
        old, start_s, style = self.gear, self._lift(), self.draw_style()
        out_s = self.hand.draw_out(start_s, style=style)
        self.controls.gear.engage(None, at_s=start_s + 0.35 * style.out_s)
        moved = self.hand.shift(out_s + dwell_s, old, style=style)
        whole = Moved(begin_s=start_s, out_s=out_s, neutral_s=out_s, in_s=moved.in_s, settle_s=moved.settle_s)
        self.controls.gear.engage(old, at_s=moved.in_s)
        self._write(old, old, "same", whole)
        self.take_up(moved, throttle=throttle)

    def into_neutral(self, *, jump: bool = False) -> None:
        """Draw the lever out of gear and leave the hand there; or it jumps out by itself under torque."""
        old = self.gear
        if jump:
            start_s, style = self.now + 0.05, self.draw_style(press=False)
            end_s = self.hand.plan.go(ENGAGE, 0.0, start_s=start_s, duration_s=self.rng.uniform(0.05, 0.12))
            self.controls.gear.engage(None, at_s=start_s + 0.03)
            self.controls.throttle.to(0.0, start_s=end_s + self.rng.uniform(0.15, 0.4), over_s=0.15)
        else:
            start_s, style = self._lift(), self.draw_style(press=False)
            end_s = self.hand.draw_out(start_s, style=style)
            self.controls.gear.engage(None, at_s=start_s + 0.35 * style.out_s)
        moved = Moved(begin_s=start_s, out_s=end_s, neutral_s=end_s, in_s=end_s, settle_s=end_s)
        self._write(old, "N", "neutral", moved, outcome="jumped_out" if jump else None)
        self.gear = None
        self._run_to(end_s)

    def let_go(self, *, least_s: float) -> None:
        """Take the hand off in neutral and wait until the lever lies still for ``least_s``."""
        start_s = self.now
        end_s, from_mm, ran = self.hand.let_go(start_s)
        still_s = max(end_s, start_s + 0.05)
        self._run_to(still_s + least_s)
        how = "ran" if abs(ran) >= LEAST_WAY_MM else "left"
        self.rests.append(
            RestScript(start_s=start_s, end_s=self.now, how=how, let_go_s=start_s, from_mm=from_mm, ran_mm=ran)
        )

    def lead(self, select_mm: float, *, duration_s: float, lie_s: float, touch: bool) -> None:
        """Guide the lever across in neutral and keep it there, with the hand felt on it or not."""
        start_s, way = self.now, abs(select_mm - self.lever_select)
        end_s = self.hand.move(start_s, select_mm, duration_s=duration_s)
        if touch:
            self.hand.feel(end_s, end_s + lie_s)
        self._run_to(end_s + lie_s)
        unmoved = "held" if touch else "left"
        how = "guided" if way >= LEAST_WAY_MM else unmoved
        self.rests.append(RestScript(start_s=start_s, end_s=self.now, how=how))

    def hold(self, seconds: float) -> None:
        """Keep the hand on the lever in neutral where it is."""
        self.hand.feel(self.now, self.now + seconds)
        self._run_to(self.now + seconds)
        self.rests.append(RestScript(start_s=self.now - seconds, end_s=self.now, how="held"))

    def press(self, to: tuple[float, float], *, seconds: float) -> None:
        """Push the lever in gear to a place (select, engage) [mm], and keep it there."""
        for axis in (SELECT, ENGAGE):
            there_s = self.hand.plan.go(axis, to[axis], start_s=self.now, duration_s=0.15)
        self._run_to(there_s + seconds)

    def take_up(self, moved: Moved, *, throttle: float) -> None:
        """Clutch up and throttle on after a gear is in."""
        rng, slow = self.rng, 2.0 if self.speed < 2.0 else 1.0
        up_s = moved.in_s + rng.uniform(0.02, 0.22)
        over_s = slow * rng.uniform(0.2, 0.6)
        self.controls.brake.to(0.0, start_s=max(up_s, self.now), over_s=0.2)
        self.controls.clutch.to(0.0, start_s=up_s, over_s=over_s)
        self.controls.throttle.to(throttle, start_s=up_s + 0.3 * over_s, over_s=rng.uniform(0.2, 0.5))
        self._run_to(max(moved.settle_s, up_s + over_s, moved.in_s + LEAST_STAY_S) + rng.uniform(0.0, 0.5))

    def draw_style(self, *, press: bool = True) -> Style:
        """This driver's next handwriting."""
        style = draw_style(self.rng, hurry=self.hurry)
        return style if press else Style(**{**style.__dict__, "press_mm": 0.0})

    def _lift(self) -> float:
        """Off the throttle and down with the clutch, as far as they are not; returns when the lever moves."""
        down = self.controls.clutch.value > 0.5
        self.controls.throttle.to(0.0, start_s=self.now + 0.01, over_s=0.12)
        self.clutch_down()
        return self.now + (0.02 if down else self.rng.uniform(0.12, 0.3))

    def _tell_gearbox(self, moved: Moved, to: str, style: Style) -> None:
        self.controls.gear.engage(None, at_s=moved.begin_s + 0.35 * max(moved.out_s - moved.begin_s, 0.0))
        self.controls.gear.engage(to, at_s=moved.in_s - 0.2 * style.in_s)

    def _write(
        self,
        old: str,
        to: str,
        kind: str,
        moved: Moved,
        *,
        via: tuple[str, ...] = (),
        outcome: str | None = None,
        crashed: bool = False,
    ) -> None:
        self.journeys.append(
            JourneyScript(
                from_gear=old,
                to_gear=to,
                kind=kind,
                begin_s=moved.begin_s,
                neutral_s=moved.neutral_s,
                settle_s=moved.in_s,
                via=via,
                outcome=outcome,
                crashed=crashed,
            )
        )

    def _run_to(self, until_s: float) -> None:
        self.vehicle.run(until_s)
        self.now = max(self.now, self.vehicle.now_s)

    def side_mm(self, side: int) -> float:
        """A plane's centre beside home, or the outermost there is on that side [mm]."""
        gate = self.synth_car.car.gate
        index = int(np.clip(gate.origin + side, 0, len(gate.planes) - 1))
        return gate.plane_mm(index)

    @property
    def lever_select(self) -> float:
        """Where the lever is across the gate when everything planned has run [mm]."""
        return self.hand.plan.at[SELECT]
