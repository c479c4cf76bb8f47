"""Everything that measuring a drive gave."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from shiftlog.model.drive import ClockMatch, DriveHead, Latency, LeftOut, Mounting
from shiftlog.model.gate import GateMap
from shiftlog.model.recording import Quality
from shiftlog.model.rest import Rest
from shiftlog.model.shift import Rejected, Shift


@dataclass(frozen=True, eq=False, kw_only=True)
class InputFile:
    """A log as it was given."""

    file: str
    sha256: str
    size_bytes: int


@dataclass(frozen=True, eq=False, kw_only=True)
class RecordingReport:
    """What one recording is worth: its quality, its clock, its mounting, and what can be measured from it.

    helps : what its signals help with in other recordings, in words
    """

    name: str
    place: str
    quality: Quality
    clock: ClockMatch
    mounting: Mounting
    can_measure: tuple[str, ...]
    cannot_measure: tuple[tuple[str, str], ...]
    ignored: tuple[str, ...] = ()
    latencies: tuple[Latency, ...] = ()
    file: str | None = None
    helps: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False, kw_only=True)
class Share:
    """k of n with its 95 % Clopper-Pearson interval.

    if_unknown_counted : the range of k/n if every rest of unknown release counted, or None
    """

    k: int
    n: int
    low: float
    high: float
    if_unknown_counted: tuple[float, float] | None = None


@dataclass(frozen=True, eq=False, kw_only=True)
class Summary:
    """Figures of the whole drive. None with a reason in ``unmeasured`` where they cannot be had."""

    wrong_plane: Share | None = None
    hysteresis_mm: float | None = None
    learnt_rpm_per_mps: Mapping[str, float] = field(default_factory=dict)
    unmeasured: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, eq=False, kw_only=True)
class DriveResult:
    """A drive, measured. Never edited: other settings or another version make another result."""

    head: DriveHead
    car: str
    version: str
    settings: Mapping[str, object]
    inputs: tuple[InputFile, ...]
    clock_recording: str
    clock_zero_s: float
    recordings: tuple[RecordingReport, ...]
    left_out: tuple[LeftOut, ...]
    gate: GateMap | None
    gate_why: str | None
    shifts: tuple[Shift, ...]
    rests: tuple[Rest, ...]
    rejected: tuple[Rejected, ...]
    summary: Summary
    notes: tuple[str, ...] = ()
