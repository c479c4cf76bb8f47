"""Contrast by WCAG 2.2, one home for every colour, and nothing from outside."""

import re
from pathlib import Path

import pytest

import dashboard
from dashboard.theme import DARK, LIGHT, css_variables, palette, see_through

ROOT = Path(dashboard.__file__).parent


def luminance(colour: str) -> float:
    """Relative luminance (WCAG 2.2, definition of relative luminance)."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast ratio (WCAG 2.2, definition of contrast ratio)."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_the_measure_itself_is_right():
    # WCAG 2.2: the ratio runs from 1 to 21, black on white being 21.
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#777777", "#777777") == 1.0


@pytest.mark.parametrize("colours", [LIGHT, DARK], ids=["light", "dark"])
def test_text_reaches_four_and_a_half_to_one(colours):
    # WCAG 2.2, success criterion 1.4.3 (AA): 4.5 : 1 for text.
    for ground in (colours.paper, colours.card):
        assert contrast(colours.ink, ground) >= 4.5
        assert contrast(colours.soft, ground) >= 4.5
    for slot in (colours.slot, colours.home):
        assert contrast(colours.ink, slot) >= 4.5


@pytest.mark.parametrize("colours", [LIGHT, DARK], ids=["light", "dark"])
def test_marks_reach_three_to_one_by_themselves_or_by_their_edge(colours):
    # WCAG 2.2, success criterion 1.4.11 (AA): 3 : 1 for graphical objects.
    assert contrast(colours.edge, colours.card) >= 3
    assert contrast(colours.look, colours.card) >= 3
    assert contrast(colours.out, colours.card) >= 3


def test_the_three_meanings_are_the_published_colours_in_both_schemes():
    # Okabe and Ito, Color Universal Design (2008): orange, blue, vermillion.
    for colours in (LIGHT, DARK):
        assert (colours.before, colours.after, colours.look) == ("#E69F00", "#0072B2", "#D55E00")


def test_style_sheets_hard_wire_no_colour():
    for sheet in (ROOT / "assets").glob("*.css"):
        text = re.sub(r"/\*.*?\*/", "", sheet.read_text(), flags=re.S)
        assert not re.search(r"#[0-9a-fA-F]{3,8}\b|rgba?\(", text), sheet.name


def test_every_variable_that_is_used_exists():
    named = set(re.findall(r"(--[a-z]+):", css_variables()))
    for sheet in (ROOT / "assets").glob("*.css"):
        assert set(re.findall(r"var\((--[a-z]+)\)", sheet.read_text())) <= named


def test_nothing_points_outside():
    for file in (f for f in ROOT.rglob("*") if f.suffix in (".py", ".css", ".js")):
        outside = re.findall(r"https?://(?!www\.w3\.org/2000/svg|\{)[^\s\"')]+", file.read_text())
        assert outside == [], file.name


def test_text_is_no_smaller_than_sixteen():
    sheets = "".join(sheet.read_text() for sheet in (ROOT / "assets").glob("*.css"))
    sizes = [float(size) for size in re.findall(r"font(?:-size)?:[^;]*?(\d+)px", sheets)]
    assert len(sizes) > 5 and min(sizes) >= 16


def test_schemes_and_opacity():
    assert palette("dark") is DARK and palette("light") is LIGHT and palette(None) is LIGHT
    assert see_through("#E69F00", 0.25) == "rgba(230,159,0,0.25)"
