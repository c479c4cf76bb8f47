"""What several cards say in the same words."""

from shiftlog.model.guided import Step

BASIS = "Common practice, without a source. A result is no diagnosis; for trained people only."
LEVER = "a recorder at the lever"
ENGINE_OFF = "Engine off, handbrake on, wheels chocked where the ground is not level."
IDLING = "Engine warm and idling, doors of the workshop open."
SEATED = "Sit as you drive, sleeves and bag clear of the lever; lever in neutral."
GATE = "Recorder running: once through all gears before or after, in the same recording, so that the gate is known."
FITTINGS = ("complete", "cables off", "tower by hand")
"""How the lever is connected while a standstill check is repeated."""

ROLLS = "A gear no longer holds a car whose cables are off: chock the wheels before taking them off."
FUMES = "A running engine fills a closed room with poisonous gas: work outdoors or with the extraction fitted."
CREEPS = "Foot brake and handbrake on, clutch on the floor, nobody ahead of or behind the car: it may lurch."
ROAD = (
    "Nobody operates a logger, phone or laptop while driving: a passenger gives the prompts, or nobody does. "
    "Traffic law comes first; leave a step out rather than force it."
)
EMPTY_ROAD = "A straight, dry, empty road with room to slow down."
OVER_REV = "Keep under the redline in the gear you are about to enter: over-revving destroys engines."


def step(say: str, do: str, seconds: float | None = None, *, marks: str | None = None) -> Step:
    """A step, its words in the order in which they are read."""
    return Step(say=say, do=do, seconds=seconds, marks=marks)
