"""How a push meets the cone of the gear it is meant for: it stands as long as the speeds differ, or crashes through."""

from dataclasses import dataclass

import numpy as np

from shiftlog.synth.cars import SynthCar
from shiftlog.synth.hand import Push, Style
from shiftlog.synth.synchro import Synchro, direction, hub_difference

SCATTER = 0.08
"""How evenly a hand presses from shift to shift (common practice, no source)."""
QUICK_S = 0.13
"""A push this quick crashes through a cone that grips no more."""
CRASH_S = (0.09, 0.2)
"""How long teeth that clash hold off a hand that does not wait (common practice, no source)."""
UNDER_WAY_MPS = 1.0


@dataclass(frozen=True, eq=False, kw_only=True)
class Meeting:
    """A shift about to be done: from where, to where, in which hand; the car's speed, and the input shaft's speed as
    it is let go [rpm]."""

    old: str | None
    to: str
    style: Style
    speed_mps: float
    free_rpm: float


def meet_cone(
    pushes: tuple[Push, ...], meeting: Meeting, synth_car: SynthCar, synchro: Synchro, rng: np.random.Generator
) -> tuple[tuple[Push, ...], bool]:
    """The same pushes with the last as the cone has it, and whether it crashes through.

    A push that stands does so for t = J Δω / T, Δω at the hub when it gets there; the rest lead the lever so gently
    that the cone is done before them. A cone that is worn out stops no quick hand.
    """
    *refused, last = pushes
    if meeting.speed_mps < UNDER_WAY_MPS or meeting.to not in synchro.slopes:
        return pushes, False
    if meeting.to in synchro.worn and meeting.style.in_s < QUICK_S:
        return (*refused, Push(crash_s=rng.uniform(*CRASH_S))), True
    if last.depth is None:
        return pushes, False
    coasts_s = 0.25 + 0.6 * meeting.style.cross_s + 0.3 * meeting.style.in_s
    turning = max(meeting.free_rpm - synchro.drag_rpmps * coasts_s, 0.0)
    apart = hub_difference(synth_car.car, meeting.to, turning, meeting.speed_mps)
    stand_s = synchro.stand_s(meeting.to, direction(synth_car, meeting.old, meeting.to), apart)
    return (*refused, Push(depth=last.depth, stand_s=stand_s * rng.lognormal(0, SCATTER))), False
