"""A journey of the lever from one gear to another, or a change of gear seen in the drive itself."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from shiftlog.model.reading import Reading

OUTCOMES = (
    "clean",
    "second_push",
    "missed",
    "wrong_gear",
    "out_and_back",
    "jumped_out",
    "to_neutral",
)


@dataclass(frozen=True, eq=False, kw_only=True)
class Shift:
    """One journey.

    from_gear, to_gear : gears of the profile, or ``N``, or None where the log cannot tell
    entered_s : rise through depth 0.1 on the way in, for the last time
    via : gears passed through with the clutch held
    start_s, out_s, in_s, end_s : drive time [s]; None where the definition gives none
    baulk : spans in which the lever stood on its way in [s]
    instant_u_s : standard uncertainty of each instant, by its name [s]
    gap : (start_s, end_s) of the drive gap, or None
    standing : below 1 m/s at start; None where the speed is not known
    double_declutched : paused with the engine speed rising meanwhile; None where not known
    seen_by : ``lever``, ``drivetrain`` (engine and vehicle speed) or ``acceleration`` (the gap in the drive alone)
    confidence : probability that it is a shift, where that is not certain; else None
    readings : the measured figures, by key
    """

    number: int
    from_gear: str | None
    to_gear: str | None
    start_s: float
    end_s: float | None
    seen_by: str
    outcome: str | None
    out_s: float | None = None
    entered_s: float | None = None
    in_s: float | None = None
    via: tuple[str, ...] = ()
    attempts: int | None = None
    paused: bool | None = None
    double_declutched: bool | None = None
    standing: bool | None = None
    baulk: tuple[tuple[float, float], ...] = ()
    instant_u_s: Mapping[str, float] = field(default_factory=dict)
    gap: tuple[float, float] | None = None
    confidence: float | None = None
    readings: Mapping[str, Reading] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if self.outcome is not None and self.outcome not in OUTCOMES:
            raise ValueError(f"shift {self.number}: no outcome {self.outcome!r}")

    def value(self, key: str) -> float | bool | None:
        """The value of one figure, or None where it is missing."""
        reading = self.readings.get(key)
        return None if reading is None else reading.value


@dataclass(frozen=True, eq=False, kw_only=True)
class Rejected:
    """A candidate that is no shift or rest, with the reason."""

    start_s: float
    end_s: float
    kind: str
    why: str
