"""The few pictures of a report, as lean drawings inside the page: marks for tries, the gate with its rests, values."""

import math
from collections.abc import Mapping, Sequence

from shiftlog.model.car import GateLayout
from shiftlog.model.rest import Rest
from shiftlog.report.markup import Html, tag

WIDTH, PITCH, ROW = 340, 14, 15
IN_A_ROW, MOST_MARKS = 24, 96
"""Beyond so many tries marks are too small to count, and a bar stands for them."""
_STRIP_H, _AXIS_Y = 150, 112
_LABEL, _CHAR, _RIGHT = 66, 11, 24
"""Room of a strip's labels at the least, and for each of their characters; and of the last tick's figure."""
_GOLDEN = 0.6180339887


def draw_tries(sides: Sequence[tuple[str, str, Sequence[bool]]], *, title: str) -> Html:
    """A mark for each try; filled where the event came. sides : (class, label, tries), before first"""
    parts, y = [], 16.0
    for kind, label, tries in sides:
        parts.append(tag("text", label, x=0, y=f"{y:g}"))
        y += 16
        drawn, height = _marks(kind, tries, y) if len(tries) <= MOST_MARKS else _bar(kind, tries, y)
        parts += drawn
        y += height + 24
    return _svg(parts, height=y - 20, title=title)


def _marks(kind: str, tries: Sequence[bool], top: float) -> tuple[list[Html], float]:
    marks = []
    for index, came in enumerate(tries):
        x, y = PITCH * (index % IN_A_ROW) + 7, top + ROW * (index // IN_A_ROW)
        marks.append(_mark(kind, x, y, class_=kind if came else "hollow"))
    return marks, ROW * max(math.ceil(len(tries) / IN_A_ROW) - 1, 0) + 6


def _mark(kind: str, x: float, y: float, *, class_: str, size: float = 5.0) -> Html:
    """A circle before, a diamond after: colour never speaks alone."""
    if kind == "before":
        return tag("circle", cx=f"{x:.1f}", cy=f"{y:.1f}", r=f"{size:g}", class_=class_)
    s = 1.2 * size
    return tag("path", d=f"M{x:.1f} {y - s:.1f}l{s:g} {s:g}l-{s:g} {s:g}l-{s:g} -{s:g}z", class_=class_)


def _bar(kind: str, tries: Sequence[bool], top: float) -> tuple[list[Html], float]:
    share = WIDTH * sum(tries) / len(tries)
    whole = tag("rect", x=0, y=top - 6, width=WIDTH, height=14, class_="hollow")
    return [whole, tag("rect", x=0, y=top - 6, width=f"{share:.1f}", height=14, class_=kind)], 8


def draw_rests(layout: GateLayout, sides: Sequence[tuple[str, Sequence[Rest]]], *, title: str) -> Html:
    """Two gates beside each other, with every rest of a released lever. sides : (label, rests), before first"""
    left, right, reach = _extent(layout, [rest for _, rests in sides for rest in rests])
    half = WIDTH / 2 - 10
    scale = min(half / (right - left), 150 / (2 * reach))
    height = 2 * reach * scale + 30
    parts = []
    for index, (label, rests) in enumerate(sides):
        x0, y0 = index * (WIDTH / 2 + 10) - left * scale, 26 + reach * scale
        parts.append(tag("text", label, x=f"{index * (WIDTH / 2 + 10):g}", y=16))
        parts.append(tag("g", _gate(layout, rests, scale), transform=f"translate({x0:.1f} {y0:.1f})"))
    return _svg(parts, height=height, title=title)


def _extent(layout: GateLayout, rests: Sequence[Rest]) -> tuple[float, float, float]:
    """Left and right edge and half the height of what is drawn [mm]."""
    across = [layout.plane_mm(i) for i in range(len(layout.planes))]
    left, right = min([*across, *(r.select_mm for r in rests)]) - 9, max([*across, *(r.select_mm for r in rests)]) + 9
    return left, right, layout.engage_travel_mm / 2 + 16


def _gate(layout: GateLayout, rests: Sequence[Rest], scale: float) -> list[Html]:
    slot, reach = 8.0 * scale, layout.engage_travel_mm / 2 * scale + 4 * scale
    ends = [layout.plane_mm(i) * scale for i in (0, len(layout.planes) - 1)]
    parts = [_slot(ends[0] - slot / 2, -slot / 2, ends[1] - ends[0] + slot, slot, "slot")]
    names = []
    for index, plane in enumerate(layout.planes):
        x = layout.plane_mm(index) * scale
        top, bottom = (reach if plane.forward else slot / 2), (reach if plane.rear else slot / 2)
        parts.append(_slot(x - slot / 2, -top, slot, top + bottom, "home" if plane.name == layout.home else "slot"))
        for gear, y in ((plane.forward, -top - 6), (plane.rear, bottom + 17)):
            names += [tag("text", gear, x=f"{x:.1f}", y=f"{y:.1f}", class_="gear")] if gear else []
    return parts + names + [_rest(rest, layout, scale) for rest in rests]


def _slot(x: float, y: float, width: float, height: float, kind: str) -> Html:
    box = {"x": x, "y": y, "width": width, "height": height}
    return tag("rect", **{k: f"{v:.1f}" for k, v in box.items()}, rx=5, class_=kind)


def _rest(rest: Rest, layout: GateLayout, scale: float) -> Html:
    x, y = rest.select_mm * scale, -rest.engage_mm * scale
    home = layout.home is None or rest.plane == layout.home
    return _mark("before" if home else "after", x, y, class_="dot" if home else "look", size=2.6 if home else 4.2)


def draw_strip(
    sides: Sequence[tuple[str, str, Sequence[float], float | None]], *, ticks: Mapping[float, str], title: str
) -> Html:
    """Every value as a mark, before above after. sides : (class, label, values, mean); ticks : value → its text"""
    low, high = min(ticks), max(ticks)
    values = [v for _, _, some, _ in sides for v in some]
    low, high = min(low, *values), max(high, *values)
    span = (high - low) or 1.0

    left = max(_LABEL, _CHAR * max(len(label) for _, label, _, _ in sides))

    def x_of(value: float) -> float:
        return left + (WIDTH - left - _RIGHT) * (value - low) / span

    parts = [
        part for value, text in ticks.items() for part in _tick(x_of(value), text)
    ]  # fmt: skip
    for index, (kind, label, some, mean) in enumerate(sides):
        y = 26 + 50 * index
        parts.append(tag("text", label, x=0, y=y + 5))
        parts += [_mark(kind, x_of(v), y + _scatter(k), class_=kind, size=3.6) for k, v in enumerate(some)]
        if mean is not None:
            x = f"{x_of(mean):.1f}"
            parts.append(tag("line", x1=x, x2=x, y1=y - 21, y2=y + 21, class_="rule"))
    return _svg(parts, height=_STRIP_H, title=title)


def _tick(x: float, text: str) -> list[Html]:
    line = tag("line", x1=f"{x:.1f}", x2=f"{x:.1f}", y1=2, y2=_AXIS_Y, class_="axis")
    return [line, tag("text", text, x=f"{x:.1f}", y=_AXIS_Y + 20, class_="soft", text_anchor="middle")]


def _scatter(index: int) -> float:
    """Steady offsets that look scattered: multiples of the golden ratio, modulo one."""
    return 15 * (2 * (index * _GOLDEN % 1.0) - 1)


def choose_ticks(values: Sequence[float]) -> list[float]:
    """Three to six round values around the data."""
    low, high = min(values), max(values)
    span = (high - low) or abs(high) or 1.0
    step = next(s for s in _steps(span) if span / s <= 4)
    first = math.floor(low / step)
    return [k * step for k in range(first, math.ceil(high / step) + 1)]


def _steps(span: float) -> list[float]:
    power = 10.0 ** math.floor(math.log10(span / 4))
    return [factor * power for factor in (1, 2, 5, 10, 20)]


def _svg(parts: Sequence[Html], *, height: float, title: str) -> Html:
    head = tag("title", title)
    return tag(
        "svg", head, list(parts), viewBox=f"0 0 {WIDTH} {height:.0f}", role="img", aria_label=title,
        xmlns="http://www.w3.org/2000/svg",
    )  # fmt: skip
