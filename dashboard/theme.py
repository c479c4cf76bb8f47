"""Colours, sizes and type of every page and picture, light and dark. Each colour has one meaning.

Before, after and "something to look at" are orange, blue and vermillion of the palette of Okabe and Ito (Color
Universal Design, 2008), which stays distinct in the common kinds of colour blindness.
"""

from dataclasses import dataclass, fields

FONT = '"Segoe UI", "Helvetica Neue", "Noto Sans", "DejaVu Sans", Arial, sans-serif'
TEXT_PX = 16
TOUCH_PX = 44


@dataclass(frozen=True, kw_only=True)
class Palette:
    """paper, card : grounds; ink, soft : text; line : rules and grids; slot, home : channels of the gate
    before, after, look : the three meanings; out : what was left out; edge : outline that lifts a mark off its ground
    """

    paper: str
    card: str
    ink: str
    soft: str
    line: str
    slot: str
    home: str
    before: str
    after: str
    look: str
    out: str
    edge: str


LIGHT = Palette(
    paper="#f4f3ee",
    card="#ffffff",
    ink="#1a1e22",
    soft="#50575e",
    line="#d6d5cd",
    slot="#e4e3dc",
    home="#c9d3cf",
    before="#E69F00",
    after="#0072B2",
    look="#D55E00",
    out="#82888d",
    edge="#1a1e22",
)
DARK = Palette(
    paper="#121518",
    card="#1b2025",
    ink="#eceae4",
    soft="#aab1b7",
    line="#39414a",
    slot="#2b3238",
    home="#3a4a47",
    before="#E69F00",
    after="#0072B2",
    look="#D55E00",
    out="#868d93",
    edge="#eceae4",
)


def palette(scheme: str | None) -> Palette:
    """The palette of a colour scheme: ``dark``, else light."""
    return DARK if scheme == "dark" else LIGHT


def css_variables() -> str:
    """A style sheet that names every colour, for both schemes."""
    return f":root{{{_variables(LIGHT)}}}@media (prefers-color-scheme: dark){{:root{{{_variables(DARK)}}}}}"


def _variables(colours: Palette) -> str:
    pairs = [f"--{f.name}:{getattr(colours, f.name)};" for f in fields(colours)]
    return "".join(pairs) + f"--font:{FONT};--touch:{TOUCH_PX}px;"


def see_through(colour: str, share: float) -> str:
    """A hex colour at a share of opacity, as plotly writes it."""
    red, green, blue = (int(colour[i : i + 2], 16) for i in (1, 3, 5))
    return f"rgba({red},{green},{blue},{share:g})"
