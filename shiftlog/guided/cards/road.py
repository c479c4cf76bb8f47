"""Tests on the road: a passenger gives the prompts, or nobody does."""

from shiftlog.guided.cards.shared import BASIS, EMPTY_ROAD, LEVER, OVER_REV, ROAD, step
from shiftlog.model.guided import Card

_ENGINE = "engine and vehicle speed (bus or dongle), else a body accelerometer"
_PAIRS = (("2 to 3", "3 to 2"), ("3 to 4", "4 to 3"))
_WORDS = {
    "2 to 3": "second to third",
    "3 to 2": "third to second",
    "3 to 4": "third to fourth",
    "4 to 3": "fourth to third",
}

SYNCHRONISER = Card(
    kind="synchroniser",
    title="Synchronisers",
    question="Does each synchroniser match the speeds before it lets the gear in?",
    minutes=30.0,
    needs=(LEVER, "engine and vehicle speed", "for the burst of a crash through: an accelerometer on the gearbox"),
    before=(
        EMPTY_ROAD,
        "Once cold after a night's stand, once hot after 20 minutes.",
        "The passenger holds the prompts.",
    ),
    steps=tuple(
        step(
            f"{pair}, {how}",
            f"{_WORDS[pair].capitalize()}, {manner}; then back at your own pace.",
        )
        for pairs in _PAIRS
        for pair in pairs
        for how, manner in (("calmly", "with a calm, even hand"), ("quickly", "with a quick hand, without force"))
    ),
    repeats=15,
    on_road=True,
    configurations=("cold", "hot"),
    bad_cases=(
        "Five rounds each at a low, a middle and a high engine speed make fifteen.",
        "A heel-and-toe or double-declutched change matches the speeds by itself and tests nothing.",
        "A shorter stand together with a grind is a worn cone, not a better one.",
        "Cold oil lengthens every stand: only like temperatures are compared.",
        "A dragging clutch makes every gear look worn: do the clutch test first.",
    ),
    cautions=(ROAD, OVER_REV, "Stop using a gear that grinds: do not repeat it to be sure.", BASIS),
)

GATE_ENTRY = Card(
    kind="gate_entry",
    title="Gate entry",
    question="Where does the lever strike the gate, and how near does it come to the wrong plane?",
    minutes=15.0,
    needs=(LEVER,),
    before=("A road on which every gear is used.", "The passenger holds the prompts.", "Shift as you always do."),
    steps=(
        step("Up through the gears", "Through all gears upwards as you usually shift, each from its neighbour."),
        step("Down through the gears", "Down through them again, each from its neighbour."),
    ),
    repeats=5,
    on_road=True,
    configurations=("as usual", "another driver"),
    bad_cases=(
        "A hurried hand cuts corners: hold another driver's shifts beside these before the gate is blamed.",
        "A lever that does not come home by itself enters off centre: do the let-goes first.",
        "Bends push the hand aside: shift on the straight.",
        "A gear that sits off its place looks like a hand that misses it: look at the seats first.",
    ),
    cautions=(ROAD, OVER_REV, BASIS),
)

JUMP_OUT = Card(
    kind="jump_out",
    title="Jumping out of gear",
    question="Does a gear walk out under drive or on overrun?",
    minutes=15.0,
    needs=(LEVER, _ENGINE),
    before=(EMPTY_ROAD, "Never downhill.", "The passenger holds the prompts.", "Hand off the lever throughout."),
    steps=(
        step("Next gear, low revs", "Into the gear to be tried at low revs, then the hand off the lever."),
        step("Steady", "Hold the speed for two seconds, hand off the lever.", 2.0),
        step("Full throttle", "Full drive, hand off the lever.", 5.0),
        step("Foot off", "Full overrun, foot off the throttle, hand off the lever.", 5.0),
        step("On and off, five times", "Five quick changes between drive and overrun, hand off the lever.", 10.0),
        step("Steady", "Hold the speed again: now it shows whether the lever came back.", 2.0),
    ),
    repeats=15,
    on_road=True,
    bad_cases=(
        "Five gears three times each make fifteen rounds: with fewer gears, end the test when all are done.",
        "The whole engine rocks under torque and takes the lever along: alike in every gear, at once, and back again.",
        "A gear that walks out is one gear and one direction, creeps, and does not come back.",
        "A resting hand pushes gears out, and holds them in: keep it off.",
        "A gear that was never fully home jumps out as well: look at its depth and clearance first.",
    ),
    cautions=(
        ROAD,
        "A car that jumps out of gear loses its engine braking: never downhill, both hands on the wheel, room ahead.",
        OVER_REV,
        BASIS,
    ),
)

WARM_UP = Card(
    kind="warm_up",
    title="Cold, hot, heat-soaked",
    question="Does it shift worse cold, hot, or after standing hot?",
    minutes=45.0,
    needs=(LEVER, "a temperature probe on the gearbox, or an infrared thermometer and its reading typed"),
    before=(
        "The car has stood overnight.",
        "The recorder runs before the first metre.",
        "Note the gearbox temperature at each start and type it with each mark; else minutes since the start are used.",
    ),
    steps=(
        step(
            "Cold: ten shifts", "Drive off gently: the first ten changes 1 to 2 and 3 to 2 as they come.", marks="cold"
        ),
        step("Warm it up", "Drive on for 20 minutes as usual."),
        step("Hot: ten shifts", "Ten changes 1 to 2 and 3 to 2 in the same manner.", marks="hot"),
        step("Soak", "Park, engine off, ten minutes, recorder running.", 600.0),
        step("Soaked: ten shifts", "Drive off: ten changes 1 to 2 and 3 to 2 in the same manner.", marks="heat-soaked"),
    ),
    repeats=1,
    on_road=True,
    configurations=("cold", "hot", "heat-soaked"),
    bad_cases=(
        "A driver who is gentler cold and quicker hot makes the difference himself: keep the hand alike.",
        "Cold synchronisers baulk longer in every car: the question is whether it goes away, and when.",
        "Engine oil is not gearbox oil: the gearbox warms later.",
        "Choke or fast idle changes the engine's speed at every take-up.",
    ),
    cautions=(ROAD, "A cold gear that refuses is not forced: wait, or use the next one.", BASIS),
)
