"""Tones on the road by gear and torque, by order of the input shaft: gear mesh z · n / 60 stands at order z."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from shiftlog.errors import CannotMeasure
from shiftlog.guided.torque_spans import DRIVE, GRID_HZ, OVERRUN, torque_course
from shiftlog.measure.scene import Scene
from shiftlog.measure.sound import cut_even
from shiftlog.model.drive import MarkedTest
from shiftlog.model.guided import PRACTICE, Figure, GuidedResult
from shiftlog.model.result import DriveResult
from shiftlog.model.sign import INSIDE
from shiftlog.model.trace import Trace
from shiftlog.signal.crossing import find_runs
from shiftlog.signal.density import find_peaks
from shiftlog.signal.order_track import draw_order_spectrum

COAST = "coast"
LEAST_S = 1.5
LOW_ORDER, TOP_ORDER = 8.5, 60.0
"""Below lie the engine's own orders; no gear on an input shaft has more teeth (common practice, no source)."""
HEARS = 0.4
"""Share of its rate up to which a recorder is heard."""
USUAL_TEETH = 35.0
"""On the input shaft's gears (common practice, no source)."""
STANDS_OUT = 4.0
"""How far an order stands over its neighbours' median to be a tone."""
LOUDER_DB = 6.0
RATIO_WITHIN = 0.04
NONE_STANDS_OUT = "No gear's tone stands out over the others."
ORDER_LABEL = "Loudest tone at order"


@dataclass(frozen=True, eq=False, kw_only=True)
class Tone:
    """The loudest tone of a gear under one torque: its order of the input shaft, and its amplitude."""

    order: float
    mps2: float


def measure_road_tones(test: MarkedTest, scene: Scene, result: DriveResult, accel: Trace) -> GuidedResult:
    """The loudest tone by gear and torque. CannotMeasure without engine speed, or where no gear was held."""
    if scene.signals.engine_speed is None:
        raise CannotMeasure("engine speed was not logged: tones cannot be followed by order; log it with the sound")
    held = _find_spans(test, scene)
    if not held:
        raise CannotMeasure(
            f"no gear was held for {LEAST_S:.1f} s under drive, on the overrun or coasting within the marked span"
        )
    tones = {key: tone for key, spans in held.items() if (tone := _find_tone(spans, scene, accel))}
    if not tones:
        raise CannotMeasure(_why_silent(held, scene, accel))
    silent = {key: _why_not_heard(spans, scene, accel) for key, spans in held.items() if key not in tones}
    says, points = _say(tones, silent)
    return GuidedResult(
        kind=test.kind, start_s=test.start_s, end_s=test.end_s, configuration=test.configuration,
        figures=(
            *(f for key, tone in tones.items() for f in _figures(key, tone)),
            *(Figure(key="tone_order", label=ORDER_LABEL, of=" ".join(key), why=why) for key, why in silent.items()),
        ),
        says=says, points_to=points,
        doubts=(
            "a tone that goes with the wheels in every gear is final drive, wheel bearing or tyre",
            f"every gear pair whines under load; louder than the others is what counts ({PRACTICE})",
        ),
    )  # fmt: skip


def _find_spans(test: MarkedTest, scene: Scene) -> dict[tuple[str, str], list[tuple[float, float]]]:
    """Stretches by gear, from engine over vehicle speed, and torque."""
    at = np.arange(test.start_s, test.end_s, 1 / GRID_HZ)
    engine, speed = scene.signals.engine_speed, scene.signals.vehicle_speed
    if speed is None or not scene.rpm_per_mps:
        raise CannotMeasure(
            "vehicle speed or the ratios are not known, so that no gear can be told; log vehicle speed, and add ratios "
            "to car.toml"
        )
    ratio = np.interp(at, engine.time_s, engine.values) / np.maximum(np.interp(at, speed.time_s, speed.values), 0.5)
    torque = torque_course(scene.signals, at)
    spans: dict[tuple[str, str], list[tuple[float, float]]] = {}
    for gear, known in scene.rpm_per_mps.items():
        for word, sign in ((DRIVE, 1), (OVERRUN, -1), (COAST, 0)):
            for a, b in find_runs((np.abs(ratio / known - 1) < RATIO_WITHIN) & (torque == sign)):
                if (b - a) / GRID_HZ >= LEAST_S:
                    spans.setdefault((gear, word), []).append((float(at[a]), float(at[b - 1])))
    return dict(sorted(spans.items()))


def _find_tone(spans: list[tuple[float, float]], scene: Scene, accel: Trace) -> Tone | None:
    """The order that stands out furthest over its neighbours, or None where none does."""
    engine = scene.signals.engine_speed
    spectra = []
    for first, last in spans:
        if any(a <= first and last <= b for a, b in accel.spans):
            time_s, values = cut_even(accel, first, last)
            turns_hz = np.interp(time_s, engine.time_s, engine.values) / 60
            top = min(TOP_ORDER, HEARS * accel.rate_hz / float(turns_hz.max()))
            orders, height = draw_order_spectrum(time_s, values - values.mean(axis=0), turns_hz, top_order=top)
            if orders.size:
                spectra.append((orders, height))
    if not spectra:
        return None
    shortest = min(len(orders) for orders, _ in spectra)
    orders = spectra[0][0][:shortest]
    height = np.sqrt(np.mean([h[:shortest] ** 2 for _, h in spectra], axis=0))
    usual = float(np.median(height[orders > LOW_ORDER])) if np.any(orders > LOW_ORDER) else np.inf
    peaks = [k for k in find_peaks(height) if orders[k] > LOW_ORDER and height[k] > STANDS_OUT * usual]
    return Tone(order=float(orders[peaks[0]]), mps2=float(height[peaks[0]])) if peaks else None


def _why_silent(held: dict[tuple[str, str], list[tuple[float, float]]], scene: Scene, accel: Trace) -> str:
    """Why no tone stands out though gears were held: with a slow recorder the teeth lie beyond what it hears."""
    engine = scene.signals.engine_speed
    turns_hz = [
        np.interp(np.mean(span), engine.time_s, engine.values) / 60 for spans in held.values() for span in spans
    ]
    reach = HEARS * accel.rate_hz / float(np.median(turns_hz))
    told = f"in {len({gear for gear, _ in held})} gears that were held no tone stands out from the rest"
    if reach >= USUAL_TEETH:
        return f"{told}: none is loud, or the recorder is not firm on the casing"
    return (
        f"{told}, and at {accel.rate_hz:.0f} values a second it hears up to order {reach:.0f} of the input shaft at "
        "these engine speeds, while teeth meet at order 20 to 40; log the sound faster, or hold the gears at lower revs"
    )


def _why_not_heard(spans: Iterable[tuple[float, float]], scene: Scene, accel: Trace) -> str:
    """The same of one gear under one torque, whose fastest moment bounds what is heard of it."""
    engine = scene.signals.engine_speed
    reach = HEARS * accel.rate_hz * 60 / float(np.interp(np.ravel(spans), engine.time_s, engine.values).max())
    told = "no tone stands out from the rest"
    return told if reach > TOP_ORDER else f"{told} up to order {reach:.0f}, the highest that is heard at these speeds"


def _figures(key: tuple[str, str], tone: Tone) -> tuple[Figure, Figure]:
    of = f"{key[0]} {key[1]}"
    # A bin of the spectrum is 1/24 of an order wide.
    order = Figure(key="tone_order", label=ORDER_LABEL, of=of, value=tone.order, uncertainty=0.02)
    return order, Figure(key="tone_mps2", label="Amplitude of that tone", unit="m/s²", of=of, value=tone.mps2)


def _say(
    tones: dict[tuple[str, str], Tone], silent: Mapping[tuple[str, str], str]
) -> tuple[tuple[str, ...], tuple[tuple[str, str], ...]]:
    says, points = [], []
    usual = float(np.median([tone.mps2 for tone in tones.values()]))
    for (gear, torque), tone in tones.items():
        gap = 20 * np.log10(tone.mps2 / usual)
        if len(tones) >= 3 and gap > LOUDER_DB:
            told = f"Gear {gear}, {torque}: order {tone.order:.1f} is {gap:.0f} dB louder than is usual in this drive."
            says.append(told)
            points.append((INSIDE, f"{told} Its gear pair or their bearings; oil first ({PRACTICE})"))
    if not says:
        says.append("Of the tones heard none stands out over the others." if silent else NONE_STANDS_OUT)
    if silent:
        says.append(
            f"No tone was heard of {', '.join(f'{gear} {torque}' for gear, torque in silent)}: see their reasons."
        )
    return tuple(says), tuple(points)
