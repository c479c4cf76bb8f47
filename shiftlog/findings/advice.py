"""What to look at for each rule: common practice without a source. A trained technician decides what it means."""

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, eq=False, kw_only=True)
class Advice:
    """look_at : next; also_looks_like : what would look the same; next_test : the cheapest."""

    look_at: tuple[str, ...]
    also_looks_like: tuple[str, ...]
    next_test: str


ADVICE: Mapping[tuple[str, str], Advice] = {
    ("grind", "gear"): Advice(
        look_at=("the synchroniser of that gear: cone, ring and the dogs' edges", "the fork's pads and the sleeve"),
        also_looks_like=(
            "shifts into this gear were quicker, or with more difference in speed, than into the others",
            "a select cable that leads the lever past the middle of that gear's slot",
        ),
        next_test="ten slow and ten quick shifts into it at the same engine speed, then the same into its neighbour",
    ),
    ("grind", "all"): Advice(
        look_at=("the clutch first: does it part fully? pedal travel, air in the line, the release bearing",),
        also_looks_like=("the wrong oil, or oil that is still thick", "a hand that shifts before the pedal is down"),
        next_test="engine idling, clutch held down for ten seconds, then reverse: a grind there points to the clutch",
    ),
    ("grind", "direction"): Advice(
        look_at=(
            "the engage cable and its adjustment: does the lever have its whole travel to that side?",
            "cable ends, bracket and the lever's bushes on that side",
        ),
        also_looks_like=("two worn synchronisers that happen to lie on one side of the gate",),
        next_test="engine off, let the lever lie in each gear and see how much travel is left before it meets its stop",
    ),
    ("grind", "cold"): Advice(
        look_at=("the gearbox oil: grade, age and level", "the clutch, for drag while the oil is thick"),
        also_looks_like=("other gears, or quicker shifts, in the first minutes than later",),
        next_test="the same short lap cold and after twenty minutes, with the same shifts",
    ),
    ("second push", "gear"): Advice(
        look_at=("the synchroniser of that gear", "seat and detent of that gear: does the lever go fully home?"),
        also_looks_like=(
            "the hand aims beside the slot: see where the lever goes in the path",
            "shifts into this gear had more difference in speed than into the others",
        ),
        next_test="engine off, ten times into each gear: a push that is refused there is no matter of speed",
    ),
    ("second push", "all"): Advice(
        look_at=("the clutch first: does it part fully?", "both cables, their ends and the lever's bushes"),
        also_looks_like=("a driver who is new to this lever", "oil that is still thick"),
        next_test="another driver over the same lap",
    ),
    ("second push", "direction"): Advice(
        look_at=("the engage cable and its adjustment", "what could stop the lever on that side: boot, console, box"),
        also_looks_like=("two worn synchronisers that happen to lie on one side of the gate",),
        next_test="engine off, let the lever lie in each gear and see how much travel is left before it meets its stop",
    ),
    ("second push", "cold"): Advice(
        look_at=("the gearbox oil: grade, age and level", "a cable stiff with cold or old grease"),
        also_looks_like=("other gears, or quicker shifts, in the first minutes than later",),
        next_test="move the lever with the engine off, cold and again warm: stiffness without speed is the linkage",
    ),
    ("knock", "difference"): Advice(
        look_at=("whether the synchronisers finish before the dogs meet", "the clutch, for drag"),
        also_looks_like=("a hand that pushes harder when it shifts at high engine speed",),
        next_test="the same shift at 2,500 and at 4,500 rpm, ten times each with an even hand",
    ),
    ("baulk", "pair"): Advice(
        look_at=("the cone and ring of the slower gear", "whether both gears of this synchroniser have cones alike"),
        also_looks_like=(
            "a gearbox built that way: the lower gear often has two or three cones",
            "a hand that pushes less hard to that side",
            "a cone of the quicker gear that grips no more and lets the hand through: see whether that gear grinds",
        ),
        next_test="ten shifts into each of the two at the same engine speed with an even hand",
    ),
}
