"""The standstill check: does the lever come home, does a straight push find its gear, does the lock-out hold?"""

from shiftlog.guided.cards.shared import BASIS, ENGINE_OFF, FITTINGS, GATE, LEVER, ROLLS, SEATED, step
from shiftlog.model.guided import Card

_PULL_S, _LIE_S, _PUSH_S, _BACK_S = 1.5, 2.5, 2.0, 2.0
"""A hand needs the first to get there; a slow lever the second to come to rest and to be seen at rest."""

RELEASE = Card(
    kind="release",
    title="Let-goes",
    question="When you let go, does the lever come home?",
    minutes=1.5,
    needs=(LEVER,),
    before=(ENGINE_OFF, SEATED, GATE),
    steps=(
        step("Right", "Move the lever to the right along neutral as far as it goes freely, and hold it.", _PULL_S),
        step("Let go", "Open the hand and take it away at once; do not lead the lever.", _LIE_S),
        step("Left", "Move it to the left as far as it goes freely, and hold it.", _PULL_S),
        step("Let go", "Open the hand and take it away at once.", _LIE_S),
    ),
    repeats=10,
    configurations=FITTINGS,
    bad_cases=(
        "A hand that leads the lever home hides a weak spring: open it at once.",
        "A lever let go half in a gear is held by the gear: keep to neutral.",
        "Cold grease is stiff: a lever that creeps home in the cold may snap home when warm. Note the temperature.",
        "Engine and road shake a sticking lever loose: standing with the engine off is its hardest case.",
        "Where the centring spring sits in the shift tower, a lever without cables has nothing that brings it home.",
    ),
    cautions=(ROLLS, BASIS),
)

STRAIGHT_PUSH = Card(
    kind="straight_push",
    title="Straight push",
    question="After letting go, which gear does a straight push find?",
    minutes=3.0,
    needs=(LEVER,),
    before=(ENGINE_OFF, SEATED, GATE),
    steps=(
        step("Right", "Move the lever to the right along neutral as far as it goes freely.", _PULL_S),
        step("Let go", "Open the hand and take it away.", _LIE_S),
        step("Push", "Push straight forward with an open palm that cannot steer; keep it there.", _PUSH_S),
        step("Neutral", "Bring the lever back to neutral.", _BACK_S),
        step("Left", "Move it to the left as far as it goes freely.", _PULL_S),
        step("Let go", "Open the hand and take it away.", _LIE_S),
        step("Push", "Push straight forward with an open palm; keep it there.", _PUSH_S),
        step("Neutral", "Bring the lever back to neutral.", _BACK_S),
    ),
    repeats=10,
    configurations=FITTINGS,
    bad_cases=(
        "A gripping hand steers by itself to the gear it wants: only an open palm is a test.",
        "At standstill a gear may refuse, tooth on tooth. Do not force it: the plane it was pushed in still counts.",
        "A lever that wanders off while it waits finds another gear than one pushed at once: keep to the prompts.",
    ),
    cautions=(ROLLS, BASIS),
)

LOCKOUT = Card(
    kind="lockout",
    title="Reverse lock-out",
    question="Does the lock-out keep the lever out of reverse?",
    minutes=1.0,
    needs=(LEVER,),
    before=(ENGINE_OFF, SEATED, GATE),
    steps=(
        step(
            "Reach for reverse",
            "Without collar, button or pressing down: to the side of reverse and firmly towards it, as in a hurry.",
            3.0,
        ),
        step("Let go", "Open the hand; let the lever come back to neutral by itself, else bring it there.", 2.0),
    ),
    repeats=10,
    configurations=FITTINGS,
    bad_cases=(
        "Some cars keep reverse by a spring alone: a firm hand then always gets in, and that is no fault.",
        "A collar that sticks up stays open for every try: look at it between tries.",
        "Forcing bends the lock-out: as firm as in a hurry, no firmer.",
    ),
    cautions=(
        "After any change of the select cable do this test before the road: planes may have moved to the lock-out.",
        ROLLS,
        BASIS,
    ),
)
