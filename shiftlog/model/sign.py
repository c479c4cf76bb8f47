"""One row of "adjust, replace outside, or open?": what points where, and what else would look alike."""

from dataclasses import dataclass

ADJUST, OUTSIDE, INSIDE = "adjust", "outside", "inside"
PLACES = {ADJUST: "adjusting", OUTSIDE: "parts outside the gearbox", INSIDE: "inside the gearbox"}
"""In words."""
FOR, AGAINST, UNKNOWN = "for", "against", "not known"


@dataclass(frozen=True, eq=False, kw_only=True)
class Sign:
    """A rule of common practice held against a drive.

    points_to : ``adjust`` | ``outside`` (lever box, cables, brackets) | ``inside`` (the gearbox)
    rule : what it looks for, in a sentence; state : ``for`` | ``against`` | ``not known``
    evidence : the figures it was held against, or what is missing; also_looks_like; next_test : the next cheapest
    undone : kind of the guided test that was not done and would tell, or None
    """

    points_to: str
    rule: str
    state: str
    evidence: str
    also_looks_like: str
    next_test: str
    undone: str | None = None
