"""After the cables were changed: what was turned, and whether it came as foretold."""

from dash import dcc, html

from dashboard import ids, words
from dashboard.follow_ups import NAMES, by_turns
from dashboard.library import DriveEntry
from dashboard.parts.page import section
from dashboard.parts.table import TableRow, look_mark, table
from dashboard.routes import NO_VISIT, Place, Query, link
from shiftlog.model.cables import CableAdvice
from shiftlog.model.car import Car
from shiftlog.model.follow_up import LESS, MORE, SAME, FollowUp, GearFollowed
from shiftlog.model.reading import K95

VERDICTS = {SAME: "as foretold", MORE: "more than foretold", LESS: "less than foretold"}
HEADS = ["Gear", "Before, mm", "Foretold, mm", "Measured, mm", "Wanted, mm", "It came"]
CORRECT = (
    "To keep what a turn is worth: shiftlog cables BEFORE --after AFTER with what was turned, and --correct-profile "
    "with the car's profile."
)


def follow_up_section(advice: CableAdvice, later: DriveEntry, car: Car, query: Query) -> html.Section:
    """What was done, to be typed in; it begins as the advice has it."""
    setting = advice.setting
    turned = (setting.engage_turns, setting.select_turns), (setting.engage_mm, setting.select_mm)
    begin = turned[0] if by_turns(car) else turned[1]
    unit = "turns" if by_turns(car) else "mm in the clamp"
    fields = [_field(name, unit, value or 0.0) for name, value in zip(NAMES, begin, strict=True)]
    to = Place(page="drive", car=later.car, visit=later.stage or NO_VISIT, drive=later.id)
    way = html.P(["Tested again in ", dcc.Link(later.name, href=link(to, query)), ". What was turned in between?"])
    return section(
        "After the change: did it come as foretold?", way, html.Div(fields, className="row"),
        html.Div(id=ids.FOLLOWED, role="status"),
    )  # fmt: skip


def _field(name: str, unit: str, value: float) -> html.Label:
    field = dcc.Input(id=ids.followed(name), type="number", value=round(value, 2), step="any", className="field")
    return html.Label([html.Span(f"{name} cable, {unit}"), field], className="followed")


def followed_parts(found: FollowUp | str) -> list:
    """The answer, gear by gear, and what comes next."""
    if isinstance(found, str):
        return [html.P(f"{found[:1].upper()}{found[1:]}.", className="reason")]
    rows = [_row(gear) for gear in found.gears]
    steps = [html.Li(step) for step in found.steps]
    return [
        html.P(found.why, className="answer"),
        table(HEADS, rows, caption="Room in each gear, foretold and measured", numbers=(1, 2, 3, 4)),
        html.H3("Before the road"), html.Ol(steps), html.P(CORRECT, className="soft"),
    ]  # fmt: skip


def _row(gear: GearFollowed) -> TableRow:
    odd = gear.verdict in (MORE, LESS)
    said = VERDICTS.get(gear.verdict, gear.why or gear.difference_mm.why or "not known")
    if odd and gear.difference_mm.value is not None:
        by, u = abs(float(gear.difference_mm.value)), K95 * (gear.difference_mm.uncertainty or 0.0)
        said = f"{said}, by {by:.1f} mm (± {u:.1f})"
    foretold = words.NOTHING if gear.foretold_mm is None else f"{gear.foretold_mm:.1f}"
    cells = [
        gear.gear, f"{gear.before_mm:.1f}", foretold, f"{gear.after_mm:.1f}", f"{gear.wanted_mm:.1f}",
        html.Td(look_mark(said) if odd else said, className="wide"),
    ]  # fmt: skip
    return TableRow(cells=cells)
