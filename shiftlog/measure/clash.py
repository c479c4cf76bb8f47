"""The tone that clashing teeth could have: f = z · |Δn| / 60, for every speed the coasting input shaft may have had."""

import math
from dataclasses import dataclass, replace

import numpy as np
from scipy import signal

from shiftlog.measure.input_shaft import last_closed_s, let_free_rpm, pulled_rpm
from shiftlog.measure.scene import Scene
from shiftlog.model.car import NEUTRAL, Car
from shiftlog.model.shift import Shift

LEAST_RPM = 40.0
"""Teeth that pass slower than this fall into one another."""
NEAR_SHARE, NEAR_HZ = 0.06, 50.0
"""Energy is near a track within this share of its frequency, but 20 ms tell no two tones closer than this apart."""
SEGMENT_S = 0.020
STARTS, FALLS = 32, 20
"""Tracks tried: so many first frequencies, and so many falls from each."""


COASTS_RPMPS = 700.0
"""So much a free input shaft with the clutch disc loses in a second in warm oil (common practice, no source)."""
USUAL_TEETH = 36
"""Of a dog ring where the profile does not tell; only for what a recorder could not have heard."""


@dataclass(frozen=True, eq=False, kw_only=True)
class ClashRange:
    """What the speeds allow.

    from_hz : the tone at the first touch at the most [Hz]; it falls from there as the cone pulls the shafts together,
    or begins lower, as the input shaft has coasted before
    coasts_hz : how much higher than that it can lie where coasting takes the shaft away from what the gear will pull it
    to, as in a shift down
    """

    from_hz: float
    coasts_hz: float = 0.0


def find_clash_range(shift: Shift, scene: Scene) -> ClashRange | str:
    """The highest clash frequency of a shift, or why it is not known."""
    gear, car = shift.to_gear, scene.car
    if gear is None or gear == NEUTRAL or gear not in car.dog_teeth:
        return f"the dog teeth of gear {gear} are not in car.toml: add dog_teeth"
    return _range(shift, scene, teeth=car.dog_teeth[gear])


def find_unheard_hz(shift: Shift, scene: Scene, *, top_hz: float) -> float | None:
    """The highest clash frequency, coasting included, where it lies above what a recorder hears, else None.

    Where the profile does not tell the teeth, usual ones are taken, and where it does not tell the gear's own ratio the
    difference at the input shaft; infinite where the speeds are not known.
    """
    gear, car = shift.to_gear, scene.car
    if gear in (None, NEUTRAL):
        return None
    known = car if gear in car.ratios else replace(car, ratios={**car.ratios, gear: 1.0})
    allowed = _range(shift, replace(scene, car=known), teeth=car.dog_teeth.get(gear, USUAL_TEETH))
    highest_hz = math.inf if isinstance(allowed, str) else allowed.from_hz + allowed.coasts_hz
    return highest_hz if highest_hz > top_hz else None


def _range(shift: Shift, scene: Scene, *, teeth: int) -> ClashRange | str:
    gear, car = shift.to_gear, scene.car
    if gear not in car.ratios:
        return f"the ratio of gear {gear} is not in car.toml: add ratios"
    turning, pulled = let_free_rpm(shift, scene), pulled_rpm(shift, scene)
    if turning is None or pulled is None:
        return "engine speed, vehicle speed or the ratio was not known here"
    until_s = shift.end_s if shift.end_s is not None else shift.start_s
    lost = COASTS_RPMPS * max(until_s - last_closed_s(shift, scene), 0.0) if turning < pulled else 0.0
    hz = [tooth_hz(teeth, hub_rpm(car, gear, rpm, pulled)) for rpm in (turning, max(turning - lost, 0.0))]
    return ClashRange(from_hz=hz[0], coasts_hz=hz[1] - hz[0])


def tooth_hz(teeth: int, rpm: float) -> float:
    """How often teeth pass, z · |n| / 60 [Hz]; with the speed difference of two dog rings, how often they clash."""
    return teeth * abs(rpm) / 60


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

    values : (n, k) band-passed acceleration over the burst; 0 where nothing that is allowed can be heard. Noise that
    fills the band has about a half near its best track by chance at 1,600 Hz.
    """
    count = min(max(round(SEGMENT_S * rate_hz), 8), values.shape[0])
    frequency_hz, _, parts = signal.spectrogram(
        values, rate_hz, window="hann", nperseg=count, noverlap=count // 2, axis=0, detrend=False
    )
    power = np.moveaxis(parts, -1, 0).sum(axis=-1) if parts.ndim == 3 else parts.T
    power = power * ((frequency_hz >= low_hz) & (frequency_hz <= top_hz))
    whole = float(power.sum())
    highest_hz = 1.03 * (allowed.from_hz + allowed.coasts_hz)
    starts = np.linspace(min(low_hz, highest_hz), min(highest_hz, top_hz), STARTS)
    if whole <= 0 or highest_hz < low_hz:
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
