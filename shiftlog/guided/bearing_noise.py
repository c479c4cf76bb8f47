"""Bearing and release noise: what is louder when, at hot idle by the clutch, and on the road by gear and torque."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from shiftlog.errors import CannotMeasure
from shiftlog.guided.clutch_states import DOWN, TOUCHED, UP, find_clutch_states, state_of_words
from shiftlog.guided.recorder import find_accel
from shiftlog.guided.road_tones import measure_road_tones
from shiftlog.measure.scene import Scene
from shiftlog.measure.sound import cut_even
from shiftlog.model.drive import MarkedTest, Signals
from shiftlog.model.guided import PRACTICE, Figure, GuidedResult
from shiftlog.model.reading import K95
from shiftlog.model.result import DriveResult
from shiftlog.model.sign import INSIDE, OUTSIDE
from shiftlog.model.trace import Trace
from shiftlog.signal.filter import band_pass

EDGES_HZ = (20.0, 100.0, 300.0, 800.0, 2000.0, 6000.0)
HIGH_SHARE, LEAST_RATE_HZ, ORDER = 0.4, 400.0, 4
PLACES = ("gearbox", "tower", "engine")
BLOCK_S, LEAST_BLOCKS = 1.0, 3
RINGS_PERIODS = 4.0
"""A band-pass of this order has died away after so many periods of its width."""
SMEARS_DB = 3.0
"""One second against another of a state that is held; more, and the marks do not fit what was held."""
LOUDER_DB, SIGMAS = 3.0, 3.0
"""A difference that an ear notices and that counts (common practice, no source), and one beyond chance."""
IDLES_ALIKE_RPM = 60.0
MEANS = {
    (UP, DOWN): (INSIDE, "gone with the clutch down: input shaft bearing, or gears that rattle at idle"),
    (UP, TOUCHED): (OUTSIDE, "gone as the bearing is loaded: a release bearing that runs loose"),
    (TOUCHED, UP): (OUTSIDE, "comes as the pedal is touched: the release bearing, or what guides it"),
    (DOWN, UP): (OUTSIDE, "comes with the clutch down: release bearing, or the pilot bearing of the shaft"),
}
"""Louder in the first than in the second."""
MARK_EACH = (
    "Not known: without a clutch channel the states are taken by the card's ten seconds each, and while {state} should "
    "have been held the noise changed by {db:.0f} dB: mark each state as a span of its own, or log the pedal."
)
ALIKE = "exhaust, shields and mounts that buzz change with the load of the pedal as well"


@dataclass(frozen=True, eq=False, kw_only=True)
class Level:
    """One band in one state. mean_db : over 1 m/s² r.m.s.; u_db : of the mean; peak_mps2 : the highest in the band

    range_db : from the quietest to the loudest second, the odd one in ten at either end left out
    """

    band: tuple[float, float]
    mean_db: float
    u_db: float
    peak_mps2: float
    range_db: float


def measure_bearing_noise(test: MarkedTest, scene: Scene, result: DriveResult) -> GuidedResult:
    """Levels by state of the clutch, with what is louder when; on the road tones by gear. CannotMeasure."""
    accel = find_accel(scene.signals, places=PLACES, least_hz=LEAST_RATE_HZ)
    if isinstance(accel, str):
        raise CannotMeasure(accel)
    if _is_road(test, scene.signals):
        return measure_road_tones(test, scene, result, accel)
    spans = _spans_of_all(test, scene.signals, result)
    levels = {state: _measure(accel, some) for state, some in spans.items()}
    levels = {state: found for state, found in levels.items() if found}
    if not levels:
        raise CannotMeasure(
            f"no state of the clutch was held for {LEAST_BLOCKS:.0f} s within the marked span; ten seconds each: up, "
            "just touched, fully down"
        )
    says, points = _say(levels, knows_clutch=_knows_clutch(test, scene.signals))
    return GuidedResult(
        kind=test.kind, start_s=test.start_s, end_s=test.end_s, configuration=test.configuration,
        figures=tuple(f for state, found in levels.items() for one in found for f in _figures(state, one)),
        says=says, points_to=points, doubts=(ALIKE, *_doubts(levels, spans, scene.signals)),
    )  # fmt: skip


def _is_road(test: MarkedTest, signals: Signals) -> bool:
    speed = signals.vehicle_speed
    if speed is None:
        return "road" in (test.configuration or "").lower()
    inside = speed.values[(speed.time_s >= test.start_s) & (speed.time_s <= test.end_s)]
    return bool(inside.size and np.median(inside) > 3.0)


def _spans_of_all(test: MarkedTest, signals: Signals, result: DriveResult) -> dict[str, list[tuple[float, float]]]:
    """The states of this span, and of the others that stand in the same place and name what this one lacks."""
    spans = find_clutch_states(test, signals)
    for other in result.tests:
        if other.kind == test.kind and other.start_s < test.start_s and not _is_road(other, signals):
            for state, some in find_clutch_states(other, signals).items():
                spans.setdefault(state, some)
    return {state: spans[state] for state in (UP, TOUCHED, DOWN) if state in spans}


def _measure(accel: Trace, spans: Sequence[tuple[float, float]]) -> list[Level]:
    """Levels of one state, band by band; nothing where it was held too briefly."""
    pieces = [cut_even(accel, a, b)[1] for a, b in spans if any(x <= a and b <= y for x, y in accel.spans)]
    block = round(BLOCK_S * accel.rate_hz)
    levels = []
    edges = [e for e in EDGES_HZ if e < HIGH_SHARE * accel.rate_hz] + [HIGH_SHARE * accel.rate_hz]
    for band in zip(edges[:-1], edges[1:], strict=True):
        powers, peak = [], 0.0
        for piece in pieces:
            heard = _hear(piece, accel.rate_hz, band)
            if heard.size >= block:
                powers += [float(heard[k : k + block].mean()) for k in range(0, heard.size - block + 1, block)]
                peak = max(peak, float(np.sqrt(heard.max())))
        if len(powers) >= LEAST_BLOCKS:
            blocks = 10 * np.log10(np.maximum(powers, 1e-12))
            u = float(blocks.std(ddof=1) / np.sqrt(blocks.size))
            low, high = np.percentile(blocks, (10, 90))
            levels.append(
                Level(
                    band=band, mean_db=float(np.median(blocks)), u_db=max(u, 0.1), peak_mps2=peak,
                    range_db=float(high - low),
                )
            )  # fmt: skip
    return levels


def _hear(piece: np.ndarray, rate_hz: float, band: tuple[float, float]) -> np.ndarray:
    """Squared acceleration in a band, (k,), without the ends at which a filter still rings."""
    rings = int(np.ceil(RINGS_PERIODS / (band[1] - band[0]) * rate_hz))
    if len(piece) <= 2 * rings + 1:
        return np.zeros(0)
    heard = np.sum(band_pass(piece - np.median(piece, axis=0), rate_hz, *band, order=ORDER) ** 2, axis=1)
    return heard[rings:-rings]


def band_words(band: tuple[float, float]) -> str:
    """``300 to 800 Hz``."""
    return f"{band[0]:.0f} to {band[1]:.0f} Hz"


def _figures(state: str, one: Level) -> tuple[Figure, Figure]:
    of = f"{state}, {band_words(one.band)}"
    level = Figure(
        key="level_db", label="Level over 1 m/s²", unit="dB", of=of, value=one.mean_db, uncertainty=one.u_db,
        interval95=(one.mean_db - K95 * one.u_db, one.mean_db + K95 * one.u_db),
    )  # fmt: skip
    return level, Figure(key="peak_mps2", label="Highest peak", unit="m/s²", of=of, value=one.peak_mps2)


def find_louder(levels: dict[str, list[Level]]) -> list[tuple[str, str, Level, float]]:
    """(louder state, quieter state, its level, dB) of the band that differs most, for each pair told apart."""
    found = []
    for first, second in MEANS:
        if first in levels and second in levels:
            gaps = [
                (a.mean_db - b.mean_db, a)
                for a, b in zip(levels[first], levels[second], strict=True)
                if a.mean_db - b.mean_db > max(LOUDER_DB, SIGMAS * float(np.hypot(a.u_db, b.u_db)))
            ]
            if gaps:
                gap, level = max(gaps, key=lambda pair: pair[0])
                found.append((first, second, level, gap))
    return found


def _knows_clutch(test: MarkedTest, signals: Signals) -> bool:
    """Whether the pedal or the mark's own words tell the states, and not the card's times alone."""
    return signals.clutch is not None or state_of_words(test.configuration) is not None


def _say(
    levels: dict[str, list[Level]], *, knows_clutch: bool
) -> tuple[tuple[str, ...], tuple[tuple[str, str], ...]]:  # fmt: skip
    smears = [(one.range_db, state) for state, found in levels.items() for one in found]
    if not knows_clutch and max(smears)[0] > SMEARS_DB:
        return (MARK_EACH.format(state=max(smears)[1], db=max(smears)[0]),), ()
    says, points = [], []
    for first, second, level, gap in find_louder(levels):
        told = f"{gap:.0f} dB louder with {first} than with {second}, {band_words(level.band)}."
        place, means = MEANS[first, second]
        says.append(told[0].upper() + told[1:])
        points.append((place, f"{says[-1]} {means[0].upper()}{means[1:]} ({PRACTICE})"))
    if not says:
        says.append(
            "No band is louder in one state of the clutch than in another."
            if len(levels) > 1
            else f"Not known: only {next(iter(levels))} was held so far, with nothing to compare it with."
        )
    return tuple(says), tuple(points)


def _doubts(
    levels: dict[str, list[Level]], spans: dict[str, list[tuple[float, float]]], signals: Signals
) -> tuple[str, ...]:
    missing = [state for state in (UP, TOUCHED, DOWN) if state not in levels]
    doubts = [f"not held, or too briefly: {', '.join(missing)}"] if missing else []
    if signals.clutch is None and len(levels) > 1:
        doubts.append("no clutch channel: the states are those of the marks, or of the card's ten seconds each")
    engine = signals.engine_speed
    if engine is None:
        return (*doubts, "engine speed was not logged: whether it idled alike in all states is not known")
    idles = [
        float(np.median(engine.values[(engine.time_s >= some[0][0]) & (engine.time_s <= some[0][1])]))
        for state, some in spans.items()
        if state in levels and np.any((engine.time_s >= some[0][0]) & (engine.time_s <= some[0][1]))
    ]
    if idles and max(idles) - min(idles) > IDLES_ALIKE_RPM:
        doubts.append(f"the engine idled at {min(idles):.0f} to {max(idles):.0f} rpm: the states are not alike")
    return tuple(doubts)
