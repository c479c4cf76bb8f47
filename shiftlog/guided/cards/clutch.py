"""Clutch before gearbox: drag and spin-down, and what is heard at idle."""

from shiftlog.guided.cards.shared import (
    BASIS,
    CREEPS,
    EMPTY_ROAD,
    ENGINE_OFF,
    FUMES,
    GATE,
    IDLING,
    LEVER,
    OVER_REV,
    ROAD,
    step,
)
from shiftlog.model.guided import Card, Step

WAITS_S = (10.0, 5.0, 3.0, 2.0, 1.0)
"""Longest first, so that the first loud grind ends the test with the least harm."""
REVERSE_SAYS = "Reverse"


def _try(wait_s: float) -> tuple[Step, ...]:
    first = wait_s == WAITS_S[0]
    return (
        step("Clutch up", "In neutral, foot off the clutch pedal." if first else "In neutral.", 5.0),
        step(
            f"Clutch down, wait {wait_s:.0f}", f"To the floor{'; hand ready on the lever.' if first else '.'}", wait_s
        ),
        step(
            REVERSE_SAYS, f"One smooth push{' into reverse, without force; clutch stays down.' if first else '.'}", 3.0
        ),
        step("Neutral", "After a loud grind end the test here." if first else "Stop after a grind.", 3.0),
    )


SPIN_DOWN = Card(
    kind="spin_down",
    title="Clutch drag and spin-down",
    question="Does the clutch let the shaft go, and how soon does it stand still?",
    minutes=3.0,
    needs=(
        "for the grind and the shaft's speed: an accelerometer on the gearbox, 800 Hz or more",
        "for the waits: the clutch switch or pedal; without it they count from the prompts",
        "a recorder at the lever; without it pushes are heard, and reverse must have no synchroniser",
    ),
    before=(
        "Gearbox hot, level ground, handbrake and foot brake on.",
        IDLING,
        "Reverse without a synchroniser. Where it has one, its stand on the way in is measured instead.",
        GATE,
    ),
    steps=tuple(one for wait_s in WAITS_S for one in _try(wait_s)),
    repeats=1,
    configurations=("as found", "after pumping"),
    bad_cases=(
        "Cold oil stops the shaft by itself and hides a clutch that drags: only a hot gearbox tells.",
        "Going through second first stops the shaft with its synchroniser: straight into reverse.",
        "Pump the pedal three times and do it again: better points at the hydraulics.",
        "Then the test Every gear: easy with the engine off and hard with it idling is the clutch first.",
        "A high idle drives the shaft faster: let the engine settle.",
    ),
    cautions=(
        CREEPS,
        "At most five tries, longest wait first; stop at the first loud grind: every grind wears the teeth.",
        FUMES,
        BASIS,
    ),
)

BEARING_NOISE = Card(
    kind="bearing_noise",
    title="Bearings and release",
    question="What is louder with the clutch up, just touched, and down?",
    minutes=2.5,
    needs=("an accelerometer on the gearbox, 400 Hz or more", "the clutch pedal or switch helps"),
    before=("Gearbox hot, car standing, handbrake on, lever in neutral.", IDLING, "Fan, radio and blower off."),
    steps=(
        step("Clutch up", "Foot away from the pedal.", 10.0),
        step("Just touch it", "Rest the foot on the pedal until its free play is gone, no further.", 10.0),
        step("Clutch down", "To the floor, and keep it there.", 10.0),
    ),
    repeats=4,
    configurations=("as found", "idle raised"),
    bad_cases=(
        "Idle speed that wanders changes every tone: let the engine settle between steps.",
        "Rattle of the gears at idle goes when the clutch is down and is often no fault: it follows the idle speed.",
        "The engine's own accessories hum all the time: they do not change with the pedal.",
        "Not sure? The test Tones on the road, under drive, on overrun and coasting, tells bearings from gear mesh.",
    ),
    cautions=(FUMES, "Nobody lies under the car while the engine runs.", BASIS),
)


def _every_gear(title: str, question: str, before: str, cautions: tuple[str, ...]) -> Card:
    return Card(
        kind="spin_down",
        title=title,
        question=question,
        minutes=1.0,
        needs=(LEVER,),
        before=(before, "Clutch pedal on the floor throughout, both brakes on.", GATE),
        steps=(
            step("Next gear", "One smooth push into the next gear, without force; reverse is one of them.", 3.0),
            step("Neutral", "Back to neutral; after a grind leave that gear out.", 2.0),
        ),
        repeats=12,
        configurations=(title.lower(),),
        bad_cases=(
            "A tooth that stands on a tooth refuses a gear now and then, engine off or on: go through all twice.",
            "With fewer than six gears, end the test when each was pushed twice.",
            "Do both one straight after the other: cold oil and a warm clutch are not alike.",
        ),
        cautions=(*cautions, BASIS),
    )


EVERY_GEAR_IDLING = _every_gear(
    "Every gear, engine idling", "How many gears go in hard with the engine idling?", IDLING, (CREEPS, FUMES)
)
EVERY_GEAR_OFF = _every_gear(
    "Every gear, engine off", "How many gears go in hard with the engine off?", ENGINE_OFF,
    ("In gear the car moves when the starter turns: nobody starts the engine during this test.",),
)  # fmt: skip

ROAD_TONES = Card(
    kind="bearing_noise",
    title="Tones on the road",
    question="Which gear's tone is louder, and under which torque?",
    minutes=10.0,
    needs=(
        "an accelerometer on the gearbox, 3,200 Hz or more: teeth meet 20 to 40 times a turn of the input shaft",
        "engine and vehicle speed",
    ),
    before=(EMPTY_ROAD, "Gearbox hot.", "The passenger holds the prompts.", "Fan, radio and blower off."),
    steps=(
        step("Next gear, middle revs", "Into the gear to be heard, at about half of the highest engine speed."),
        step("Steady", "Hold the speed with as little throttle as it takes.", 5.0),
        step("Half throttle", "An even pull, no more than the road allows.", 5.0),
        step("Foot off", "Foot off the throttle, gear in, clutch up.", 5.0),
    ),
    repeats=10,
    on_road=True,
    configurations=("on the road",),
    bad_cases=(
        "Five gears twice make ten rounds: with fewer gears, end the test when all are done.",
        "A tone that goes with the wheels in every gear is final drive, wheel bearing or tyre.",
        "A coarse road drowns what a smooth one lets hear.",
        "Every gear pair whines a little under load: louder than the others is what counts.",
    ),
    cautions=(ROAD, OVER_REV, BASIS),
)
