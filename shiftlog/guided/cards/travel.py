"""What the lever's travel tells with the engine off: room to the stops, free play, and the pull into the gears."""

from shiftlog.guided.cards.shared import BASIS, ENGINE_OFF, FITTINGS, GATE, LEVER, ROLLS, SEATED, step
from shiftlog.model.guided import Card

_HOLD_S, _OFF_S = 1.5, 1.5

_HOME = (
    step("Press home", "Push it further the same way, firmly, against its stop.", _HOLD_S),
    step("Let go", "Take the hand away.", _OFF_S),
)
_SIDES = (
    step("Press right", "In gear, press it to the right against the gate.", _HOLD_S),
    step("Let go", "Take the hand away.", _OFF_S),
    step("Press left", "In gear, press it to the left against the gate.", _HOLD_S),
    step("Let go", "Take the hand away.", _OFF_S),
)

CLEARANCE = Card(
    kind="clearance",
    title="Clearances",
    question="How much room has the lever in each gear before the gate stops it?",
    minutes=4.0,
    needs=(LEVER,),
    before=(ENGINE_OFF, "Clutch pedal down for going into a gear, then as you like.", SEATED, GATE),
    steps=(
        step("Next gear", "Put the lever into the next gear, in any order; reverse is one of them.", 3.0),
        step("Let go", "Take the hand away.", _OFF_S),
        *_HOME,
        *_HOME,
        *_SIDES,
        *_SIDES,
    ),
    repeats=7,
    configurations=FITTINGS,
    bad_cases=(
        "A gear that will not go in at standstill, tooth on tooth: clutch up, rock the car a little, try again.",
        "Six gears and reverse make seven rounds: with fewer gears, end the test when all are done.",
        "A stop that gives is rubber or a bent bracket, not the gate: press with the same force in every gear.",
        "The gaiter or a mat may stop the lever before the gate does: fold them back.",
    ),
    cautions=("In gear the car moves when the starter turns: nobody starts the engine during this test.", ROLLS, BASIS),
)

FREE_PLAY = Card(
    kind="free_play",
    title="Free play and stretch",
    question="How far does the lever move before anything follows, and how far does it give under force?",
    minutes=3.0,
    needs=(
        LEVER,
        "for millimetres per newton: a force gauge whose force is logged, or a spring scale",
    ),
    before=(
        ENGINE_OFF,
        "With a second recorder at the shift tower do the test Lever against tower instead.",
        "Third or fourth gear in and kept in.",
        "Sit as you drive, sleeves and bag clear of the lever.",
        GATE,
    ),
    steps=(
        step("Lightly forward", "With one finger forward until it just resists.", _HOLD_S),
        step("Lightly back", "With one finger back until it just resists.", _HOLD_S),
        step("Lightly right", "With one finger to the right until it just resists.", _HOLD_S),
        step("Lightly left", "With one finger to the left until it just resists.", _HOLD_S),
        step("Firmly forward", "Push forward to the mark on the scale, the same every time.", 2.5),
        step("Firmly back", "Pull back to the same mark, without leaving the gear.", 2.5),
        step("Let go", "Take the hand away.", _OFF_S),
    ),
    repeats=10,
    configurations=FITTINGS,
    bad_cases=(
        "A push hard enough to stretch the cable is no free play: stop where it just resists.",
        "A gear not fully home lets the sleeve slide, which looks like play: press it home first.",
        "The knob may be loose on the lever: hold the lever below it.",
        "Without a ruler once per fitting the travel is relative, and a changed lever ratio stays unseen.",
    ),
    cautions=("Pulling hard may take the gear out: the car must not stand on the gear alone.", ROLLS, BASIS),
)

_DEPTHS = (
    ("A quarter in", "From neutral slowly a quarter of the way into the gear."),
    ("Half in", "From neutral slowly half of the way in."),
    ("Past half", "From neutral slowly a little past half of the way in."),
    ("Three quarters in", "From neutral slowly three quarters of the way in."),
    ("Nearly home", "From neutral slowly nearly all the way in."),
)

DETENT = Card(
    kind="detent",
    title="Detent",
    question="From what depth does the gear pull the lever in?",
    minutes=4.0,
    needs=(LEVER,),
    before=(ENGINE_OFF, "Clutch pedal down where the gear goes in more easily so.", SEATED, GATE),
    steps=tuple(
        one
        for say, do in _DEPTHS
        for one in (
            step(say, do, 2.5),
            step("Let go", "Open the hand; look where the lever goes by itself.", 2.0),
            step("Neutral", "Back to neutral.", _OFF_S),
        )
    ),
    repeats=6,
    bad_cases=(
        "Tooth on tooth a gear stops halfway: that is no detent. Clutch up, rock the car a little, begin again.",
        "Go twice through each gear; the log knows which gear it was.",
        "Stiff cables eat the pull of the detent: with the cables off and the tower worked by hand it shows itself.",
        "Cold oil and grease slow the lever: the depth counts more than the speed.",
    ),
    configurations=FITTINGS,
    cautions=(ROLLS, BASIS),
)
