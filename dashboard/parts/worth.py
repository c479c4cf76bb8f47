"""What a drive's logs are worth: each recording, what they can measure together, what they cannot, and notes."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from dash import html

from dashboard import words
from dashboard.parts.notes import bullets
from dashboard.parts.page import section
from dashboard.parts.table import look_mark
from shiftlog.measure.capability import Able, judge_reports
from shiftlog.measure.worth import IN_FILE, Fact, Remedy, able_text, find_remedies, recording_facts
from shiftlog.model.car import Car
from shiftlog.model.result import DriveResult, RecordingReport, Unable


def worth_sections(result: DriveResult, car: Car | None = None) -> list:
    """What the logs of a measured drive are worth, notes, and what was left out."""
    worth = judge_reports(_with_files(result), car=car, gate_why=result.gate_why)
    # Without a gate map these have its reason, and that stands there already.
    alone = result.summary.unmeasured if result.gate else {}
    extra = [(words.label(name), why) for name, why in alone.items() if why]
    parts = [able_section(worth.can, worth.cannot, extra=extra)]
    notes = list(result.notes) + [f"{left.name or left.file} was left out: {left.why}" for left in result.left_out]
    parts += [section("Notes", bullets(notes))] if notes else []
    return [*parts, recordings_section(worth.reports)]


def _with_files(result: DriveResult) -> list[RecordingReport]:
    """The recordings with their files, which older results name among the inputs alone, in the same order."""
    if len(result.inputs) != len(result.recordings):
        return list(result.recordings)
    pairs = zip(result.recordings, result.inputs, strict=True)
    return [replace(report, file=report.file or given.file) for report, given in pairs]


def able_section(
    can: Sequence[Able],
    cannot: Sequence[Unable],
    *,
    extra: Sequence[tuple[str, str]] = (),
    declare: Mapping[str, str] = IN_FILE,
) -> html.Section:
    """What a drive can measure and what not, each once, with what to fit.

    extra : (figure, why not) besides; declare : what to call declaring each key of a recording
    """
    known = [_able_line(able) for able in can]
    missing = [_remedy_line(remedy) for remedy in find_remedies(cannot, declare=declare)]
    missing += [html.Li([html.B(_capital(name)), f" – {why}"]) for name, why in extra]
    yes = [html.H3("It can"), html.Ul(known, className="plain")] if known else [html.P("Nothing.", className="reason")]
    no = [html.H3("It cannot"), html.Ul(missing, className="plain")] if missing else []
    return section("What this drive can measure", html.Div([html.Div(yes), html.Div(no)], className="can"))


def _able_line(able: Able) -> html.Li:
    name = html.B(_capital(able.name))
    return html.Li([name, " – ", look_mark(able_text(able)) if able.doubt else able_text(able)])


def _remedy_line(remedy: Remedy) -> html.Li:
    said = [
        html.Div([html.B(_capital(words.sentence_list(list(names)))), f" – {why}"]) for names, why in remedy.reasons
    ]
    return html.Li([*said, html.Div(["→ ", _capital(remedy.mend)], className="soft")] if remedy.mend else said)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def recordings_section(reports: Sequence[RecordingReport]) -> html.Section:
    """Every recording with all that is to be known of it."""
    return section("The recordings", html.Div([_recording(report) for report in reports], className="recordings"))


def _recording(report: RecordingReport) -> html.Article:
    place = words.PLACES.get(report.place, report.place)
    about = f"{report.file}, at the {place}" if report.file else f"at the {place}"
    rows = [html.Div([html.Dt(fact.label), html.Dd(_fact(fact))]) for fact in recording_facts(report)]
    return html.Article([html.H3(report.name), html.P(about, className="soft"), html.Dl(rows)], className="recording")


def _fact(fact: Fact) -> object:
    return look_mark(fact.text) if fact.look else fact.text
