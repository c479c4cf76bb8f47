"""The tone that clashing teeth could have: f = z · |Δn| / 60, for every speed the coasting input shaft may have had."""

from dataclasses import dataclass

import numpy as np
from scipy import signal

from shiftlog.measure.scene import Scene
from shiftlog.measure.speeds import value_at
from shiftlog.model.car import NEUTRAL, Car
from shiftlog.model.shift import Shift

LEAST_RPM = 40.0
"""Teeth that pass slower than this fall into one another."""
NEAR_SHARE, NEAR_HZ = 0.06, 40.0
"""Energy is near a track within this share of its frequency, but 20 ms tell no two tones closer than this apart."""
SEGMENT_S = 0.020
STARTS, FALLS = 24, 12
"""Tracks tried: so many first frequencies, and so many falls from each."""


@dataclass(frozen=True, eq=False, kw_only=True)
class ClashRange:
    """What the speeds allow.

    from_hz : the tone at the first touch at the most [Hz]; it falls from there as the cone pulls the shafts together,
    or begins lower, as the input shaft has coasted before; teeth : of the dog ring
    """

    from_hz: float
    teeth: int


def find_clash_range(shift: Shift, scene: Scene) -> ClashRange | str:
    """The highest clash frequency of a shift, or why it is not known."""
    gear, car = shift.to_gear, scene.car
    if gear is None or gear == NEUTRAL or gear not in car.dog_teeth:
        return f"the dog teeth of gear {gear} are not in car.toml: add dog_teeth"
    if gear not in car.ratios:
        return f"the ratio of gear {gear} is not in car.toml: add ratios"
    engine, speed = scene.signals.engine_speed, scene.signals.vehicle_speed
    n = value_at(engine, shift.start_s) if engine is not None else None
    v = 0.0 if shift.standing else value_at(speed, shift.end_s or shift.start_s) if speed is not None else None
    if n is None or v is None or (gear not in scene.rpm_per_mps and v):
        return "engine speed, vehicle speed or the ratio was not known here"
    teeth = car.dog_teeth[gear]
    return ClashRange(
        from_hz=teeth * abs(hub_rpm(car, gear, n, v * scene.rpm_per_mps.get(gear, 0.0))) / 60, teeth=teeth
    )


def hub_rpm(car: Car, gear: str, input_rpm: float, pulled_rpm: float) -> float:
    """Speed difference at the hub of a gear [rpm].

    input_rpm : of the input shaft; pulled_rpm : what the gear will pull it to, wheels' speed times its whole ratio.
    A hub on the output shaft turns with the wheels, and the gear wheel at n_input / i_gear; one on the input shaft
    feels the difference i_gear times as great.
    """
    apart = input_rpm - pulled_rpm
    return apart if car.hub.get(gear, "output") == "input" else apart / car.ratios[gear]


def match_clash(values: np.ndarray, rate_hz: float, allowed: ClashRange, *, low_hz: float, top_hz: float) -> float:
    """Share of a burst's energy that lies near the best falling track within what the speeds allow, with its double.

    values : (n, k) band-passed acceleration over the burst; 0 where nothing that is allowed can be heard.
    """
    count = min(max(round(SEGMENT_S * rate_hz), 8), values.shape[0])
    frequency_hz, _, parts = signal.spectrogram(
        values, rate_hz, window="hann", nperseg=count, noverlap=count // 2, axis=0, detrend=False
    )
    power = np.moveaxis(parts, -1, 0).sum(axis=-1) if parts.ndim == 3 else parts.T
    power = power * ((frequency_hz >= low_hz) & (frequency_hz <= top_hz))
    whole = float(power.sum())
    starts = np.linspace(min(low_hz, allowed.from_hz), min(allowed.from_hz * 1.03, top_hz), STARTS)
    if whole <= 0 or allowed.from_hz < low_hz:
        return 0.0
    along = np.linspace(0, 1, power.shape[0])[:, None]
    shares = [
        float(power[_near(frequency_hz, start * (1 - fall * along))].sum()) / whole
        for start in starts
        for fall in np.linspace(0, 1, FALLS)
    ]
    return max(shares)


def _near(frequency_hz: np.ndarray, track_hz: np.ndarray) -> np.ndarray:
    """Bins near a track (m, 1) or its double, (m, f) bool."""
    hits = np.zeros((track_hz.shape[0], frequency_hz.size), bool)
    for order in (1, 2):
        reach = np.maximum(NEAR_SHARE * order * track_hz, NEAR_HZ)
        hits |= np.abs(frequency_hz - order * track_hz) <= reach
    return hits
