"""A gate as a small SVG picture, which follows the reader's light or dark scheme by itself."""

from html import escape
from urllib.parse import quote

from dashboard.figures.slots import ROUND_MM, Box, gate_slots
from dashboard.theme import DARK, FONT, LIGHT, Palette
from shiftlog.model.car import GateLayout
from shiftlog.model.rest import Rest

SHOWN_RESTS = 60


def draw_thumbnail(layout: GateLayout, rests: tuple[Rest, ...] = ()) -> str:
    """The gate as an SVG text: slots, home plane, gears, the first rests as dots, wrong planes as diamonds."""
    slots = gate_slots(layout)
    around = slots.around
    parts = [_box(box, "slot") for box in slots.channels]
    parts += [_box(slots.home, "home")] if slots.home else []
    parts += [
        f'<text class="gear" x="{x:.1f}" y="{-y:.1f}" dy="0.36em">{escape(gear)}</text>' for gear, x, y in slots.marks
    ]
    parts += [_rest(rest, layout) for rest in rests[:SHOWN_RESTS]]
    size = (around.left, -around.forward, around.right - around.left, around.forward - around.rear)
    view = " ".join(f"{v:.1f}" for v in size)
    style = f"{_style(LIGHT)}@media (prefers-color-scheme: dark){{{_style(DARK)}}}"
    return f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{view}"><style>{style}</style>{"".join(parts)}</svg>'


def data_url(svg: str) -> str:
    """An SVG text as the address of an image, so that the page needs no other file."""
    return "data:image/svg+xml," + quote(svg)


def _box(box: Box, kind: str) -> str:
    width, height = box.right - box.left, box.forward - box.rear
    return (
        f'<rect class="{kind}" x="{box.left:.1f}" y="{-box.forward:.1f}" width="{width:.1f}"'
        f' height="{height:.1f}" rx="{ROUND_MM}"/>'
    )


def _rest(rest: Rest, layout: GateLayout) -> str:
    x, y = rest.select_mm, -rest.engage_mm
    if layout.home is None or rest.plane == layout.home:
        return f'<circle class="rest" cx="{x:.1f}" cy="{y:.1f}" r="1.6"/>'
    return f'<path class="look" d="M{x:.1f} {y - 2.8:.1f}l2.8 2.8l-2.8 2.8l-2.8 -2.8z"/>'


def _style(colours: Palette) -> str:
    return (
        f".slot{{fill:{colours.slot}}}.home{{fill:{colours.home}}}.rest{{fill:{colours.ink}}}"
        f".look{{fill:{colours.look};stroke:{colours.edge};stroke-width:.5}}"
        f".gear{{fill:{colours.ink};font:600 8.5px {FONT.replace(chr(34), chr(39))};text-anchor:middle}}"
    )
