"""What a log is worth, in short lines: the same words for terminal and pages."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from shiftlog.measure.capability import SURE, Able
from shiftlog.measure.carry import AXES, FAR, MOUNTING, NO_AXES, OFFSET
from shiftlog.model.drive import ClockMatch, Latency
from shiftlog.model.frozen import stood_alike
from shiftlog.model.recording import Quality
from shiftlog.model.result import RecordingReport, Unable

BLOWS = ("knock", "grind")
MINUS = "\N{MINUS SIGN}"
IN_FILE = {OFFSET: f"give {OFFSET} in drive.toml", MOUNTING: f"declare `{MOUNTING}` in drive.toml"}
"""How what nothing else tells is declared where a drive folder is edited."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Fact:
    """One line about a recording; look : whether it is one to look at."""

    label: str
    text: str
    look: bool = False


def recording_facts(report: RecordingReport) -> tuple[Fact, ...]:
    """Everything that is to be known of a recording, one fact a line."""
    facts = [*_sampling(report.quality), *_vibration(report.quality), *_flaws(report)]
    facts += [
        _clock(report.clock, name=report.name),
        *_evidence(report.clock),
        *_at_its_word(report),
        *(_latency(latency) for latency in report.latencies if _told(latency)),
    ]
    facts += [_mounting(report)] if _has_axes(report) else []
    return (*facts, Fact(label="gives", text=_gives(report)))


def _gives(report: RecordingReport) -> str:
    """What it gives, or what it helps with, or what it lacks."""
    if report.can_measure:
        return ", ".join(report.can_measure)
    if report.clock.offset_s is None:
        return "nothing, as it is not placed on the drive's clock"
    if report.helps:
        return f"nothing by itself; it helps with {', '.join(report.helps)}"
    near = next((lack for lack in report.cannot_measure if lack.kind not in FAR), None)
    if near is None:
        return "nothing by itself"
    # Why they are not known stands with the mounting.
    return f"nothing yet: {NO_AXES if near.kind == AXES else near.why}"


@dataclass(frozen=True, eq=False, kw_only=True)
class Remedy:
    """What to do, or None where nothing would help, and each reason it would do away with: (families, why)."""

    mend: str | None
    reasons: tuple[tuple[tuple[str, ...], str], ...]


def find_remedies(cannot: Sequence[Unable], *, declare: Mapping[str, str] = IN_FILE) -> tuple[Remedy, ...]:
    """Each advice once, with each reason once and all the families it keeps away.

    declare : what to call declaring each key
    """
    grouped: dict[str | None, dict[str, list[str]]] = {}
    for one in cannot:
        mend = mend_text(one.mend, one.declare, declare)
        grouped.setdefault(mend, {}).setdefault(one.why, []).append(one.name)
    return tuple(
        Remedy(mend=mend, reasons=tuple((tuple(names), why) for why, names in reasons.items()))
        for mend, reasons in grouped.items()
    )


def mend_text(mend: str | None, key: str | None, declare: Mapping[str, str] = IN_FILE) -> str | None:
    """What to do about a reason, declaring ``key`` among it; None where nothing would help."""
    ways = [mend] if mend else []
    ways += [declare[key]] if key else []
    return ", or ".join(ways) or None


def able_text(able: Able) -> str:
    """From which recordings a family comes, and what is doubtful about it."""
    return ", ".join(able.recordings) + (f" ({able.doubt})" if able.doubt else "")


def _sampling(quality: Quality) -> list[Fact]:
    uneven_ms = 1000 * quality.jitter_s
    steps = f"steps vary by {_number(float(f'{uneven_ms:.2g}'))} ms" if uneven_ms >= 0.01 else "steps even"
    rate = f"{_number(quality.rate_hz)} Hz, {steps}"
    held = f"{quality.samples} samples in {quality.duration_s:.1f} s"
    return [Fact(label="rate", text="; ".join([f"{rate}; {held}", *_slow(quality)])), *_losses(quality)]


def _slow(quality: Quality) -> list[str]:
    """The channels that are new more seldom than the rows, those of one pace together."""
    paces: dict[str, list[str]] = {}
    for name, wait in quality.renewed_s.items():
        paces.setdefault(f"{wait:.2f}" if wait < 10 else f"{wait:.0f}", []).append(name)
    return [f"{', '.join(names)} new every {wait} s" for wait, names in paces.items()]


def _losses(quality: Quality) -> list[Fact]:
    """Gaps, lost and clipped samples, each on its line where there are any, else all in one."""
    facts, clean = [], []
    if quality.gaps:
        start_s, end_s = max(quality.gaps, key=lambda g: g[1] - g[0])
        longest = f"the longest {_number(end_s - start_s)} s, at {start_s:.1f} s"
        facts.append(Fact(label="gaps", text=f"{len(quality.gaps)}, {longest}", look=True))
    else:
        clean.append("no gaps")
    if quality.dropped:
        facts.append(Fact(label="lost", text=_samples(quality.dropped), look=True))
    else:
        clean.append("no sample lost")
    if quality.clipped:
        by = ", ".join(f"{n} of {name}" for name, n in quality.clipped_by.items())
        facts.append(Fact(label="clipped", text=by or _samples(quality.clipped), look=True))
    else:
        clean.append("none clipped")
    return facts + ([Fact(label="whole" if not facts else "but", text=", ".join(clean))] if clean else [])


def _samples(n: int) -> str:
    return "1 sample" if n == 1 else f"{n} samples"


def _vibration(quality: Quality) -> list[Fact]:
    if quality.bandwidth_hz is None:
        return []
    known = quality.noise_mps2 is not None
    noise = f"noise floor {quality.noise_mps2:.2g} m/s²" if known else "noise floor not known (no whole second of data)"
    band = f"to be trusted up to {_number(quality.bandwidth_hz)} Hz"
    return [Fact(label="vibration", text=f"{noise}, {band}")]


def _flaws(report: RecordingReport) -> list[Fact]:
    quality, facts = report.quality, []
    if quality.mended:
        facts.append(Fact(label="mended", text=", ".join(f"{what}: {n}" for what, n in quality.mended.items())))
    if quality.stuck:
        facts.append(Fact(label="stuck", text=f"{', '.join(quality.stuck)}: never changes", look=True))
    for stood in stood_alike(quality.frozen_s):
        facts.append(Fact(label="stuck", text=f"{', '.join(stood.names)}: {stood.how}, left out there", look=True))
    if report.ignored:
        facts.append(Fact(label="left", text=f"no channel: {', '.join(report.ignored)}"))
    return facts


def _clock(clock: ClockMatch, *, name: str) -> Fact:
    if clock.offset_s is None:
        why = (clock.why or "nothing tells where it belongs").removeprefix(f"{name}: ")
        return Fact(label="clock", text=f"not placed: {why}", look=True)
    plain = {"reference": "drive time is this clock", "same clock": "runs on the drive's clock"}
    if clock.how in plain:
        return Fact(label="clock", text=plain[clock.how])
    sign = MINUS if clock.offset_s < 0 else "+"
    parts = [f"{clock.how}: recorder time = drive time {sign} {abs(clock.offset_s):.3f} s"]
    parts += [f"drift {_signed(clock.drift_ppm)} ppm"] if clock.drift_ppm else []
    parts += [f"confidence {clock.confidence:.2f}"] if clock.how == "matched" and clock.confidence is not None else []
    parts += [f"slipped at {clock.slipped_at_s:.1f} s"] if clock.slipped_at_s is not None else []
    unsure = clock.confidence is not None and clock.confidence < SURE
    return Fact(label="clock", text=", ".join(parts), look=unsure or clock.slipped_at_s is not None)


def _evidence(clock: ClockMatch) -> list[Fact]:
    return [Fact(label="by", text=clock.evidence)] if clock.evidence else []


def _at_its_word(report: RecordingReport) -> list[Fact]:
    """Of a declared clock nothing tells whether it is right, and a blow is over in an instant."""
    if report.clock.how != "declared" or not any(name in report.can_measure for name in BLOWS):
        return []
    text = "the declared clock is taken at its word: where it is 20 ms off or more, knocks and grinds are missed"
    return [Fact(label="doubt", text=text, look=True)]


def _told(latency: Latency) -> bool:
    """Whether a lag stands out of its own uncertainty (k = 2)."""
    return latency.uncertainty_s is None or abs(latency.lag_s) > 2 * latency.uncertainty_s


def _latency(latency: Latency) -> Fact:
    late = "behind" if latency.lag_s >= 0 else "ahead of"
    size = f"{abs(latency.lag_s):.2f} s"
    within = f" (± {max(latency.uncertainty_s, 0.01):.2f} s)" if latency.uncertainty_s is not None else ""
    return Fact(
        label="latency", text=f"{_plain(latency.channel)} comes {size} {late} {_plain(latency.against)}{within}"
    )


def _plain(channel: str) -> str:
    return channel.replace("_", " ")


def _mounting(report: RecordingReport) -> Fact:
    mounting = report.mounting
    if mounting.rotation is None:
        rides = report.place == "lever"
        unknown = f"not known: {mounting.why or 'nothing tells it'}"
        parts = [(mounting.why or "it moves with the lever") if rides else unknown, *_slip(report)]
        return Fact(label="mounting", text=", ".join(parts), look=not rides)
    found = mounting.how != "declared"
    how = mounting.how if mounting.how.startswith("by ") else f"from {mounting.how}"
    parts = [f"axes found {how}" if found else "as declared"]
    parts += [f"confidence {mounting.confidence:.2f}"] if found and mounting.confidence is not None else []
    parts += [f"± {mounting.uncertainty_deg:.2g}°"] if mounting.uncertainty_deg is not None else []
    parts += _slip(report) + ([mounting.why] if mounting.why else [])
    unsure = mounting.confidence is not None and mounting.confidence < SURE
    moved = mounting.slipped_at_s is not None or mounting.held_s != (None, None)
    return Fact(label="mounting", text=", ".join(parts), look=unsure or moved)


def _slip(report: RecordingReport) -> list[str]:
    """When the sensor slipped; a recording that lies on no drive time tells it in its own."""
    if report.mounting.slipped_at_s is None:
        return []
    whose = " of its own log" if report.clock.offset_s is None else ""
    return [f"slipped at {report.mounting.slipped_at_s:.0f} s{whose}"]


def _has_axes(report: RecordingReport) -> bool:
    """Whether the recording has a motion sensor at all; without one its mounting is nothing to speak of."""
    return report.quality.bandwidth_hz is not None or report.mounting.rotation is not None


def _signed(value: float) -> str:
    return f"{value:+.3g}".replace("-", MINUS)


def _number(value: float) -> str:
    """Three significant digits at the most, no exponent."""
    if abs(value) >= 1000:
        return f"{value:.0f}"
    text = f"{value:.3g}"
    return text if "e" not in text else f"{value:.4f}".rstrip("0").rstrip(".")
