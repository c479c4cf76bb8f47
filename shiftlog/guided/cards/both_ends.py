"""Recorders at both ends of the cables: slowly at standstill first, then ordinary shifts."""

from shiftlog.guided.cards.shared import BASIS, ENGINE_OFF, GATE, LEVER, ROAD, step
from shiftlog.model.guided import Card

STANDING, DRIVEN = "standing", "on the road"

TWO_ENDED = Card(
    kind="two_ended",
    title="Lever against tower",
    question="How much of the lever's motion is lost before the tower follows, and how far do the cables stretch?",
    minutes=15.0,
    needs=(LEVER, "a second recorder at the shift tower, where the cables end, on one clock with the first"),
    before=(
        f"For the first step: {ENGINE_OFF[0].lower()}{ENGINE_OFF[1:]}",
        "Both recorders firm on their levers; a ruler once per fitting makes millimetres absolute.",
        GATE,
    ),
    steps=(
        step(
            "Slowly through all gears",
            "Standing, engine off: into each gear and back within two seconds a way, twice; in each gear three times "
            "lightly to and fro with two fingers, then press home for a second.",
            marks=STANDING,
        ),
        step(
            "Drive and shift as usual",
            "Up and down through all gears, three times and more, each shift with an even hand; the hand off the lever "
            "between.",
            marks=DRIVEN,
        ),
    ),
    repeats=1,
    on_road=True,
    configurations=(STANDING, DRIVEN),
    bad_cases=(
        "A sensor that is not firm on its lever shows as lost motion.",
        "Cold cables drag more than warm ones: note which it was.",
        "On the road play and friction come as one figure; play alone needs the fingers of the first step.",
        "Detents that pull harder than friction holds hide the loop on the road: the slow step shows it.",
    ),
    cautions=(ROAD, BASIS),
)
