"""The two sliders of the cables page: as far as each adjuster goes, in turns where a turn is known."""

import math

from dash import dcc, html

from dashboard import ids
from shiftlog.model.cables import CableAdvice

FURTHEST_MM, STEP_MM, STEP_TURNS = 5.0, 0.1, 0.25
"""So far a slider goes where the profile gives no range."""
FEWEST_STEPS, FINE_STEP = 10, 0.05
"""A short range is stepped through more finely."""
MARKS = 9
NOT_SHOWN = "stays: the room to either side was not measured"
NO_RANGE = "its adjuster has no range"


def counted_in(advice: CableAdvice) -> tuple[float, float]:
    """Millimetres at the lever for what the sliders count in, turns where those are known, engage and select."""
    engage, select = advice.mm_per_turn
    return engage or 1.0, select or 1.0


def cable_sliders(advice: CableAdvice) -> list[html.Div]:
    """They begin at the best setting."""
    amounts, pitches = (advice.setting.engage_mm, advice.setting.select_mm), counted_in(advice)
    return [
        _slider(
            name, amounts[k] / pitches[k], reach(advice, k, pitches[k]), in_turns=advice.mm_per_turn[k] is not None,
            why=_why(advice, k),
        )
        for k, name in enumerate(("engage", "select"))
    ]  # fmt: skip


def reach(advice: CableAdvice, k: int, pitch: float) -> tuple[float, float]:
    """(low, high) of a slider in what it counts; wider than usual where the best setting lies further out."""
    if advice.range_known[k]:
        return advice.ranges[k][0] / pitch, advice.ranges[k][1] / pitch
    best = abs((advice.setting.engage_mm, advice.setting.select_mm)[k]) / pitch
    far = max(FURTHEST_MM, float(math.ceil(best)))
    return -far, far


def _why(advice: CableAdvice, k: int) -> str | None:
    """Why a cable cannot be turned here; None where it can."""
    if k == 1 and not advice.knows_across:
        return NOT_SHOWN
    return NO_RANGE if advice.range_known[k] and advice.ranges[k][0] >= advice.ranges[k][1] else None


def _slider(
    name: str, value: float, ends: tuple[float, float], *, in_turns: bool, why: str | None
) -> html.Div:  # fmt: skip
    low, high = ends if ends[0] < ends[1] else (ends[0] - 1.0, ends[1] + 1.0)
    usual = STEP_TURNS if in_turns else STEP_MM
    slider = dcc.Slider(
        id=ids.cable(name), min=low, max=high, step=usual if high - low > FEWEST_STEPS * usual else FINE_STEP,
        value=min(max(round(value, 2), low), high),
        marks=_marks(low, high), disabled=why is not None,
    )  # fmt: skip
    said = f"{name} cable, {'turns' if in_turns else 'mm'}"
    return html.Div([html.Label(f"{said}: {why}" if why else said), slider], className="slider")


def _marks(low: float, high: float) -> dict[float, str]:
    """Whole numbers, thinned, and nought among them where it lies within."""
    every = max(math.ceil((high - low) / MARKS), 1)
    whole = range(math.ceil(low / every) * every, math.floor(high) + 1, every)
    return {k: f"{k:+d}" if k else "0" for k in whole} or {round(low, 2): f"{low:+.2g}", round(high, 2): f"{high:+.2g}"}
