"""Every card, in the order in which a technician would go: cheap and standing first, the road last."""

from collections.abc import Mapping
from dataclasses import dataclass

from shiftlog.guided.cards.both_ends import TWO_ENDED
from shiftlog.guided.cards.clutch import BEARING_NOISE, SPIN_DOWN
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
    )
}  # fmt: skip
"""Name → tests that belong together."""
