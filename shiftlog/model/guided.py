"""A guided test: its card, and what a marked span of it says."""

from dataclasses import dataclass

from shiftlog.model.share import Share

TEST_KINDS = (
    "release", "straight_push", "lockout", "clearance", "free_play", "spin_down", "synchroniser", "jump_out", "detent",
    "bearing_noise", "warm_up", "gate_entry", "two_ended",
)  # fmt: skip
"""Kinds of guided test, as ``[[test]]`` in ``drive.toml`` names them."""
PRACTICE = "common practice, no source"
"""Behind every sentence on what a healthy car shows, and in what a figure points at."""
NOT_KNOWN = "Not known"
"""The answer of a test that was carried out and does not answer its question begins so."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Step:
    """One step of a guided test.

    say : the short prompt that is spoken or shown large; do : the sentence on the card
    seconds : how long it lasts before the next prompt, or None where the person goes on by himself
    marks : the configuration under which this step is a span of its own; such a card has no span over all of it
    """

    say: str
    do: str
    seconds: float | None = None
    marks: str | None = None


@dataclass(frozen=True, eq=False, kw_only=True)
class Card:
    """What a person needs to carry a test out.

    kind : as ``[[test]]`` names it; question : what it answers; minutes : how long it takes
    needs : places whose recorder it takes, in words; steps : in order, ``repeats`` times over
    bad_cases : what spoils it or looks alike; cautions : what can hurt someone
    before : what must be so before it starts; on_road : whether it is driven, else the car stands
    configurations : words by which repeats of it are told apart, as ``[[test]]`` may carry them
    """

    kind: str
    title: str
    question: str
    minutes: float
    needs: tuple[str, ...]
    steps: tuple[Step, ...]
    repeats: int
    bad_cases: tuple[str, ...]
    cautions: tuple[str, ...]
    before: tuple[str, ...] = ()
    on_road: bool = False
    configurations: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False, kw_only=True)
class Figure:
    """One figure of a guided test; either ``value`` or ``share`` is given, else ``why`` says why not.

    key, unit : as ``hysteresis_mm``, ``mm``; label : in words; of : the gear, side or wait it is of, or ""
    uncertainty : standard uncertainty; interval95 : 95 % interval, both in ``unit``; share : k of n
    """

    key: str
    label: str
    unit: str = ""
    of: str = ""
    value: float | None = None
    share: Share | None = None
    uncertainty: float | None = None
    interval95: tuple[float, float] | None = None
    why: str | None = None

    def __post_init__(self) -> None:
        if (self.value is None and self.share is None) != (self.why is not None):
            raise ValueError(f"figure {self.key}: a missing value needs a reason, a value none")


@dataclass(frozen=True, eq=False, kw_only=True)
class GuidedResult:
    """What a marked span of one test says.

    says : sentences a technician can act on, the answer first; doubts : what may be wrong with this test
    points_to : what the rules page is told, (place, sentence) with the places of ``model/sign.py``
    """

    kind: str
    start_s: float
    end_s: float
    configuration: str | None
    figures: tuple[Figure, ...]
    says: tuple[str, ...]
    doubts: tuple[str, ...] = ()
    points_to: tuple[tuple[str, str], ...] = ()

    @property
    def answered(self) -> bool:
        """Whether it answers what its test asks, either way."""
        return bool(self.figures and self.says) and not self.says[0].startswith(NOT_KNOWN)

    def figure(self, key: str, of: str = "") -> Figure | None:
        """The figure of that key and gear or side, or None."""
        return next((f for f in self.figures if f.key == key and f.of == of), None)
