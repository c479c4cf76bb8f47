"""Every card, in the order in which a technician would go: cheap and standing first, the road last."""

from collections.abc import Mapping
from dataclasses import dataclass

from shiftlog.guided.cards.both_ends import TWO_ENDED
from shiftlog.guided.cards.clutch import BEARING_NOISE, EVERY_GEAR_IDLING, EVERY_GEAR_OFF, ROAD_TONES, SPIN_DOWN
from shiftlog.guided.cards.road import GATE_ENTRY, JUMP_OUT, SYNCHRONISER, WARM_UP
from shiftlog.guided.cards.standstill import LOCKOUT, RELEASE, STRAIGHT_PUSH
from shiftlog.guided.cards.travel import CLEARANCE, DETENT, FREE_PLAY
from shiftlog.model.guided import Card

CARDS: Mapping[str, Card] = {
    card.kind: card
    for card in (
        RELEASE, STRAIGHT_PUSH, LOCKOUT, CLEARANCE, FREE_PLAY, DETENT, SPIN_DOWN, BEARING_NOISE, TWO_ENDED, GATE_ENTRY,
        WARM_UP, SYNCHRONISER, JUMP_OUT,
    )
}  # fmt: skip
"""Kind → card."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Sequence:
    """Tests done in one go. name : fit for a URL; minutes : how long all of them take; cards : in order"""

    name: str
    title: str
    question: str
    minutes: float
    cards: tuple[Card, ...]


SEQUENCES: Mapping[str, Sequence] = {
    "standstill": Sequence(
        name="standstill", title="Standstill check", minutes=5.0, cards=(RELEASE, STRAIGHT_PUSH, LOCKOUT),
        question="Does the lever come home, find its gear, and stay out of reverse?",
    ),
    "every_gear": Sequence(
        name="every_gear", title="Every gear", minutes=2.5, cards=(EVERY_GEAR_IDLING, EVERY_GEAR_OFF),
        question="Do gears go in hard with the engine idling that go in easily with it off?",
    ),
    "road_tones": Sequence(
        name="road_tones", title=ROAD_TONES.title, minutes=ROAD_TONES.minutes, cards=(ROAD_TONES,),
        question=ROAD_TONES.question,
    ),
}  # fmt: skip
"""Name → tests that belong together, or the same kind of test done another way."""
ALL_CARDS: tuple[Card, ...] = (*CARDS.values(), *(card for one in SEQUENCES.values() for card in one.cards))
"""Every card, those of several ways of one kind among them; a card of a sequence may stand twice."""


def card_of(kind: str, configuration: str | None) -> Card | None:
    """The card by which a span was done: a kind may be done in ways that have cards of their own. None if not known."""
    told = (configuration or "").strip().lower()
    own = (card for card in ALL_CARDS if card.kind == kind and told in card.configurations)
    return next(own, CARDS.get(kind))
