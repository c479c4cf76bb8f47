"""The parts of the page that marks a drive's tests: its list, the form, and the paste."""

from collections.abc import Sequence

from dash import dcc, html

from dashboard import ids, words
from dashboard.figures.frame import CONFIG
from dashboard.parts.notes import reason
from dashboard.parts.page import section
from dashboard.parts.table import TableRow, table
from shiftlog.guided.cards.known import ALL_CARDS, CARDS
from shiftlog.model.drive import MarkedTest

KEPT = (
    "Kept in drive.toml of the workshop's copy, earlier versions beside it by number. Logs never change. "
    "The drive is measured anew after each change."
)
CONFIGURATIONS = "configurations"


def mark_list(marks: Sequence[MarkedTest]) -> html.Section:
    """Every marked span with the button that takes it out."""
    answer = html.Div(id=ids.REMOVE_ANSWER)
    if not marks:
        return section("Marked spans", reason("No test is marked in this drive yet."), answer, aside=KEPT)
    rows = [TableRow(cells=_row(mark, number)) for number, mark in enumerate(marks)]
    shown = table(["Test", "When", ""], rows, caption="In drive time")
    return section("Marked spans", shown, answer, aside=KEPT)


def _row(mark: MarkedTest, number: int) -> list:
    waits = f"waits of {' '.join(f'{wait:g}' for wait in mark.waits_s)} s" if mark.waits_s else None
    warmth = f"{mark.gearbox_temp_c:g} °C" if mark.gearbox_temp_c is not None else None
    name = ", ".join(part for part in (title(mark.kind), mark.configuration, waits, warmth) if part)
    button = html.Button(
        "Take out", id=ids.remove_mark(number), className="button quiet", title=f"Take {name} out"
    )  # fmt: skip
    length = words.figure(mark.end_s - mark.start_s, "s")
    return [name, f"{words.clock(mark.start_s)} to {words.clock(mark.end_s)}, {length}", button]


def title(kind: str) -> str:
    """A test's name in words; its kind as written where nobody knows it."""
    return CARDS[kind].title if kind in CARDS else f"{kind} (not known, counts for nothing)"


def mark_form() -> html.Section:
    """The trace to drag over, and the fields of a mark."""
    kinds = [{"label": card.title, "value": kind} for kind, card in CARDS.items()]
    choices = sorted({word for card in ALL_CARDS for word in card.configurations})
    fields = html.Div(
        [
            html.Label(["From", _field(ids.MARK_START, "1:35.2")]),
            html.Label(["To", _field(ids.MARK_END, "2:55.0")]),
            html.Label(["Set up as (optional)", _field(ids.MARK_CONFIGURATION, "complete", list=CONFIGURATIONS)]),
            html.Label(["Spin-down waits, s (optional)", _field(ids.MARK_WAITS, "10 5 3")]),
            html.Label(["Gearbox, °C (optional)", _field(ids.MARK_TEMPERATURE, "82")]),
        ],
        className="form",
    )
    buttons = [
        html.Button("Look closer at it", id=ids.MARKS_CLOSER, className="button quiet"),
        html.Button("Whole drive", id=ids.MARKS_WHOLE, className="button quiet"),
    ]
    return section(
        "Mark a test",
        dcc.Graph(id=ids.MARKS_PICTURE, config=CONFIG, className="traces"),
        html.Div(buttons, className="row steps"),
        html.Fieldset([html.Legend("Which test"), dcc.RadioItems(id=ids.MARK_KIND, options=kinds, className="sides")]),
        fields,
        html.Datalist([html.Option(value=word) for word in choices], id=CONFIGURATIONS),
        html.Div(html.Button("Mark it", id=ids.MARK_ADD, className="button"), className="row"),
        html.Div(id=ids.MARK_ANSWER),
        aside="Drag across the trace with a mouse, tap its start and then its end, or type the times.",
    )


def paste_form(*, clock_known: bool) -> html.Section:
    """Where the prompts' marks go; the clock tells where they lie, or the first second does."""
    needed = (
        "only to correct the clock" if clock_known
        else "needed: neither this drive nor its logs give a date; tap the trace there"
    )  # fmt: skip
    first = html.Label([f"The first test began at ({needed})", _field(ids.PASTE_FIRST, "1:35.2")])
    buttons = [
        html.Button("Add them", id=ids.PASTE_ADD, className="button"),
        html.Button("Take the last marks of the prompts", id=ids.PASTE_TAKE, className="button quiet"),
    ]
    text = dcc.Textarea(id=ids.PASTE, className="field command", rows=8, spellCheck="false")
    return section(
        "Paste the marks of the prompts",
        html.Label("Marks", htmlFor=ids.PASTE),
        text,
        html.Div(first, className="form wide after"),
        html.Div(buttons, className="row"),
        html.Div(id=ids.PASTE_ANSWER),
        aside="Look at the trace afterwards: clocks of two devices differ by a second or more.",
    )


def _field(name: str, hint: str, **more: object) -> dcc.Input:
    return dcc.Input(id=name, type="text", className="field", placeholder=hint, autoComplete="off", **more)
