"""Every figure of one shift, by what it speaks of, with how sure it is or why it is missing."""

from dash import html

from dashboard import words
from dashboard.parts.page import section
from dashboard.parts.table import TableRow, table
from dashboard.routes import Query
from shiftlog.measure.catalogue import MEASURES, shift_keys
from shiftlog.model.shift import Shift

GROUPS = {
    "Lever": ("shift_time_s", "neutral_time_s", "baulk_time_s", "approach_speed_mmps"),
    "Knock": ("knock_peak_mps2", "knock_energy_m2s3"),
    "Driveline": (
        "drive_gap_s", "jerk_p2p_mps3", "shuffle_hz", "shuffle_damping", "shuffle_decrement_damping",
        "shuffle_amplitude_mps2",
    ),
    "Felt": ("vdv_mps175", "mtvv_mps2", "band_low_hz", "band_high_hz"),
    "Grind": ("grind", "grind_level_db", "grind_duration_s", "clash_match", "crash_through"),
}  # fmt: skip
REST = "Engine and road"
"""Whatever the catalogue has besides."""


def grouped_keys() -> dict[str, tuple[str, ...]]:
    """All figures of a shift by their group, none left out."""
    named = {key for keys in GROUPS.values() for key in keys}
    return GROUPS | {REST: tuple(key for key in shift_keys() if key not in named)}


def facts_section(facts: list[tuple[str, str]]) -> html.Section:
    """What the shift was, in words."""
    rows = [TableRow(cells=[name, text]) for name, text in facts]
    return section("The shift", table(["What", ""], rows, caption="What is known of it besides figures"))


def figures_section(shift: Shift, query: Query) -> html.Section:
    """A table for each group that has anything to tell."""
    tables = []
    for title, keys in grouped_keys().items():
        rows = _rows([key for key in keys if key in shift.readings], shift, query)
        if rows:
            tables.append(table(["Figure", "Value", "How sure"], rows, caption=title))
    aside = "±: one standard uncertainty (k = 1). Grey: what could not be measured, and why."
    return section("The figures", html.Div(tables, className="figures"), aside=aside)


def _rows(keys: list[str], shift: Shift, query: Query) -> list[TableRow]:
    """Figures in their order, then those that are missing, together where they share a reason."""
    had = [_row(key, shift, query) for key in keys if shift.readings[key].value is not None]
    missing: dict[str, list[str]] = {}
    for key in keys:
        if shift.readings[key].value is None:
            missing.setdefault(shift.readings[key].why, []).append(key)
    return had + [_missing_row(some, why) for why, some in missing.items()]


def _row(key: str, shift: Shift, query: Query) -> TableRow:
    reading = shift.readings[key]
    name = _name(key) if reading.side is None else html.Span([_name(key), f", {words.SIDES[reading.side]}"])
    return TableRow(cells=[name, words.value(key, reading.value, query.speed), words.how_sure(reading, query.speed)])


def _missing_row(keys: list[str], why: str) -> TableRow:
    names = [part for key in keys for part in (", ", _name(key))][1:]
    return TableRow(cells=[html.Span(names), html.Td(why, colSpan=2, className="why")], muted=True)


def _name(key: str) -> html.Span:
    return html.Span(words.label(key), title=MEASURES[key].definition)
