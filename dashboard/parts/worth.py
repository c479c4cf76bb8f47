"""What a drive's logs are worth: what they cannot show, notes, recordings."""

from dash import html

from dashboard import words
from dashboard.parts.notes import bullets
from dashboard.parts.page import section
from dashboard.parts.table import TableRow, table
from shiftlog.measure.catalogue import MEASURES, NOT_YET
from shiftlog.model.result import DriveResult, RecordingReport


def worth_sections(result: DriveResult) -> list:
    """What the logs are worth, what cannot be measured and why, notes, and what was left out."""
    cannot = _cannot(result)
    parts = [section("What this log cannot show, and why", bullets(cannot))] if cannot else []
    notes = list(result.notes) + [f"{left.name or left.file} was left out: {left.why}" for left in result.left_out]
    parts += [section("Notes", bullets(notes))] if notes else []
    rows = [_recording_row(report) for report in result.recordings]
    heads = ["Recording", "At the", "Rate, Hz", "Length", "Missing", "Mended", "Clock"]
    return parts + [section("The recordings", table(heads, rows, caption="What each log is worth", numbers=(2,)))]


def _cannot(result: DriveResult) -> list:
    """What no recording of the drive can show, with the reason each gives; what one of them can show is left out."""
    can = {name for report in result.recordings for name in report.can_measure}
    reasons: dict[str, list[str]] = {}
    for report in result.recordings:
        for name, why in report.cannot_measure:
            if name not in can and not _later(name):
                reasons.setdefault(name, []).append(f"{report.name}: {why}")
    lines = [_cannot_line(name, list(dict.fromkeys(why))) for name, why in reasons.items()]
    lines += [[html.B(_name(name)), f" – {why}"] for name, why in result.summary.unmeasured.items() if why]
    later = [measure.label for measure in MEASURES.values() if not measure.measured]
    return lines + ([[html.B(words.sentence_list(later)), f" – {NOT_YET}"]] if later else [])


def _later(name: str) -> bool:
    """Whether a family of figures is one that this version does not measure whatever the log."""
    first = [m.measured for m in MEASURES.values() if m.label.lower().startswith(name.lower())]
    return bool(first) and not any(first)


def _cannot_line(name: str, why: list[str]) -> object:
    """One reason stands open; several, one for each recording, fold away under the name."""
    if len(why) == 1:
        return [html.B(_name(name)), f" – {why[0]}"]
    summary = html.Summary([html.B(_name(name)), html.Span("\N{NO-BREAK SPACE}– why, for each recording")])
    return html.Details([summary, bullets(why)])


def _name(name: str) -> str:
    shown = words.label(name)
    return shown[:1].upper() + shown[1:]


def _recording_row(report: RecordingReport) -> TableRow:
    quality, clock = report.quality, report.clock
    mended = ", ".join(f"{n} {what}" for what, n in quality.mended.items())
    gaps = f"{quality.dropped} samples in {words.count(len(quality.gaps), 'gap')}" if quality.gaps else "nothing"
    how = clock.how if clock.why is None else f"{clock.how}: {clock.why}"
    cells = [
        report.name,
        words.PLACES.get(report.place, report.place),
        words.number(quality.rate_hz) if quality.rate_hz else words.NOTHING,
        words.clock(quality.duration_s),
        gaps,
        mended or "nothing",
        how,
    ]
    return TableRow(cells=cells, muted=clock.offset_s is None)
