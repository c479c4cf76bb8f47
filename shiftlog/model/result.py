"""Everything that measuring a drive gave."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from shiftlog.model.drive import ClockMatch, DriveHead, Latency, LeftOut, MarkedTest, Mounting
from shiftlog.model.gate import GateMap
from shiftlog.model.guided import GuidedResult
from shiftlog.model.recording import Quality
from shiftlog.model.rest import Rest
from shiftlog.model.share import Share
from shiftlog.model.shift import Rejected, Shift


@dataclass(frozen=True, eq=False, kw_only=True)
class InputFile:
    """A log as it was given."""

    file: str
    sha256: str
    size_bytes: int


@dataclass(frozen=True, eq=False, kw_only=True)
class Unable:
    """A family of figures that a recording, or a whole drive, cannot give.

    why : the reason; mend : what to fit or do about it, as an order, or None where nothing would help
    declare : the key of the recording in ``drive.toml`` that would settle it as well, or None
    kind : what stands in the way: ``absent`` (no such sensor) | ``elsewhere`` (it sits at another place) | ``clock`` |
        ``partner`` (another recording it takes) | ``rate`` | ``axes`` | ``engine speed`` (new too seldom) |
        ``profile`` (of the car) | ``gate`` (no map of it); "" in older documents
    """

    name: str
    why: str
    mend: str | None = None
    kind: str = ""
    declare: str | None = None


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
    cannot_measure: tuple[Unable, ...]
    ignored: tuple[str, ...] = ()
    latencies: tuple[Latency, ...] = ()
    file: str | None = None
    helps: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False, kw_only=True)
class SynchroRow:
    """How the synchroniser of one gear works in one direction and temperature band.

    direction : ``up`` | ``down``; band : ``cold`` | ``between`` | ``hot`` | ``not known``
    side : where the difference in speed is taken, ``hub`` | ``engine``
    n : shifts in which the lever stood, which the slope rests on; shifts : the numbers of all of this kind
    slope_ms_per_krpm : stand of the lever over difference in speed [ms per 1,000 rpm], with its standard uncertainty,
        95 % interval, and the offset of its line [ms]
    crash_through : quick shifts that went in with a burst and no stand
    reading : what the two mean together, in words: a shorter stand alone is never better
    unmeasured : why a figure is None, by its key in the catalogue
    """

    gear: str
    direction: str
    band: str
    side: str
    n: int
    shifts: tuple[int, ...]
    reading: str
    slope_ms_per_krpm: float | None = None
    u_ms_per_krpm: float | None = None
    interval95: tuple[float, float] | None = None
    offset_ms: float | None = None
    crash_through: Share | None = None
    unmeasured: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, eq=False, kw_only=True)
class Finding:
    """Something that stands out beyond chance: where to look next. Common practice, never a diagnosis.

    what : the finding in a sentence with its counts; evidence : the shifts it rests on, and the test
    look_at : what to look at next; also_looks_like : other explanations that would look the same
    kind : where the advice comes from; next_test : the cheapest thing to do next
    shifts : numbers of the shifts named; rule : which rule found it, "" in results of versions that did not say
    notes : what to keep in mind with its counts, in sentences
    """

    what: str
    evidence: tuple[str, ...]
    look_at: tuple[str, ...]
    also_looks_like: tuple[str, ...]
    next_test: str
    kind: str = "common practice"
    shifts: tuple[int, ...] = ()
    rule: str = ""
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False, kw_only=True)
class Summary:
    """Figures of the whole drive. None with a reason in ``unmeasured`` where they cannot be had.

    fastest_mps : greatest vehicle speed, but for the thousandth part that lies above, in which wheels may spin
    grinds, crash_throughs : of the shifts under way in which each can be told; a shorter stand counts for better only
    where neither has grown
    """

    wrong_plane: Share | None = None
    hysteresis_mm: float | None = None
    fastest_mps: float | None = None
    learnt_rpm_per_mps: Mapping[str, float] = field(default_factory=dict)
    synchro: tuple[SynchroRow, ...] = ()
    grinds: Share | None = None
    crash_throughs: Share | None = None
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
    findings: tuple[Finding, ...] = ()
    tests: tuple[MarkedTest, ...] = ()
    guided: tuple[GuidedResult, ...] = ()
    notes: tuple[str, ...] = ()
