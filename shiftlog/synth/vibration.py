"""What shakes gearbox and body: the road, the engine's orders, whine, blows of the dogs, and clashing teeth."""

from dataclasses import dataclass, replace

import numpy as np
from scipy import signal

from shiftlog.model.reading import measured, unmeasured
from shiftlog.model.shift import Shift
from shiftlog.synth.blow import Blow, draw_blow, heard_by, true_knock
from shiftlog.synth.cars import SynthCar
from shiftlog.synth.health import Health
from shiftlog.synth.ride import HONEST_SHARE, ROADS, Ride, to_unit
from shiftlog.synth.truth import Truth
from shiftlog.synth.vehicle import Motion

BRACKET_SHARE = 0.1
"""What a bracket at the gearbox shakes on its own, as a share of the road's shaking (common practice, no source)."""
CLASH_SHARE = 0.7
"""Share of the shifts into a gear that grinds in which it does (a worn cone does not fail every time)."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Clash:
    """Teeth that clash: from ``start_s`` to ``end_s`` at a tone that falls from ``from_hz`` to nothing [m/s²]."""

    start_s: float
    end_s: float
    from_hz: float
    size_mps2: float


@dataclass(frozen=True, eq=False, kw_only=True)
class Events:
    """Everything sudden on a drive: blows by shift number, clashes by shift number, potholes [s, m/s²]."""

    blows: dict[int, Blow]
    clashes: dict[int, Clash]
    potholes: tuple[tuple[float, float], ...]


def draw_events(
    truth: Truth, motion: Motion, synth_car: SynthCar, health: Health, *, road: str, rng: np.random.Generator
) -> Events:
    """Blows as hard as the hand was fast; clashes where a gear grinds; potholes as the road has them."""
    blows, clashes = {}, {}
    for shift in truth.shifts:
        if shift.end_s is None or shift.to_gear == "N" or shift.outcome == "to_neutral":
            continue
        hard = (shift.value("approach_speed_mmps") or 200.0) / 250.0
        size = health.knock_mps2 * hard**0.7 * rng.lognormal(0, 0.25)
        blows[shift.number] = draw_blow(shift.end_s + rng.uniform(-0.001, 0.006), size, rng)
        if shift.to_gear in health.grinds and not shift.standing and rng.random() < CLASH_SHARE:
            clashes[shift.number] = _draw_clash(shift, motion, synth_car, rng)
    minutes = truth.duration_s / 60
    count = rng.poisson(ROADS[road][1] * minutes)
    potholes = tuple((float(rng.uniform(0, truth.duration_s)), rng.uniform(3, 12)) for _ in range(count))
    return Events(blows=blows, clashes=clashes, potholes=potholes)


def _draw_clash(shift: Shift, motion: Motion, synth_car: SynthCar, rng: np.random.Generator) -> Clash:
    car, speed = synth_car.car, shift.value("vehicle_speed_mps")
    gear = shift.to_gear
    hub_rpm = speed * car.rpm_per_mps(gear) / car.ratios[gear]
    apart = abs(shift.value("engine_speed_rpm") / car.ratios[gear] - hub_rpm)
    lasts = rng.uniform(0.06, 0.25)
    end_s = (shift.end_s or shift.start_s) - 0.012
    begin_s = max(end_s - lasts, shift.start_s + 0.3 * (end_s - shift.start_s))
    return Clash(
        start_s=begin_s,
        end_s=end_s,
        from_hz=max(car.dog_teeth.get(gear, 36) * apart / 60, 60.0),
        size_mps2=rng.uniform(4, 12),
    )


def with_knock(truth: Truth, events: Events, *, rate_hz: float | None) -> Truth:
    """The same truth with knock peak and energy for a recorder at the gearbox of that rate."""
    shifts = tuple(_with_knock(s, events.blows.get(s.number), rate_hz) for s in truth.shifts)
    return replace(truth, shifts=shifts, grinds=tuple(sorted(events.clashes)))


def _with_knock(shift: Shift, blow: Blow | None, rate_hz: float | None) -> Shift:
    if blow is None or rate_hz is None or shift.outcome == "missed":
        why = "no gear went in" if rate_hz else "no recorder at the gearbox"
        found = [unmeasured(key, why) for key in ("knock_peak_mps2", "knock_energy_m2s3")]
    else:
        peak, energy = true_knock(blow, shift.end_s, rate_hz=rate_hz)
        found = [measured("knock_peak_mps2", peak), measured("knock_energy_m2s3", energy)]
    return replace(shift, readings={**shift.readings, **{r.key: r for r in found}})


def shake_gearbox(
    time_s: np.ndarray,
    motion: Motion,
    ride: Ride,
    synth_car: SynthCar,
    events: Events,
    *,
    rate_hz: float,
    rng: np.random.Generator,
) -> np.ndarray:
    """Acceleration at the gearbox in vehicle axes at the recorder's instants, (n,) → (n, 3) [m/s²]."""
    total = ride.felt(time_s, motion, rate_hz=rate_hz)
    total += BRACKET_SHARE * ride.shaking.std(axis=0) * rng.normal(0, 1, total.shape)
    total += _orders(time_s, motion, synth_car, rate_hz=rate_hz, rng=rng)
    total += _rumble(time_s, motion, rate_hz=rate_hz, rng=rng)
    for blow in events.blows.values():
        where, added = heard_by(blow, time_s, rate_hz=rate_hz)
        total[where] += added
    for clash in events.clashes.values():
        _add_clash(total, time_s, clash, rate_hz=rate_hz, rng=rng)
    _add_potholes(total, time_s, events, share=0.6)
    return total


def shake_body(
    time_s: np.ndarray,
    motion: Motion,
    ride: Ride,
    synth_car: SynthCar,
    events: Events,
    *,
    rate_hz: float,
    rng: np.random.Generator,
) -> np.ndarray:
    """Acceleration at the body in vehicle axes at the recorder's instants, (n,) → (n, 3) [m/s²]."""
    total = ride.felt(time_s, motion, rate_hz=rate_hz)
    total += 0.15 * _orders(time_s, motion, synth_car, rate_hz=rate_hz, rng=rng)
    for blow in events.blows.values():
        where, added = heard_by(blow, time_s, rate_hz=rate_hz)
        total[where] += 0.08 * added
    _add_potholes(total, time_s, events, share=1.0)
    return total


def _orders(
    time_s: np.ndarray, motion: Motion, synth_car: SynthCar, *, rate_hz: float, rng: np.random.Generator
) -> np.ndarray:
    """Firing order, its double, and the whine of the driven gear (an order that carries torque)."""
    turns_hz = np.interp(time_s, motion.time_s, motion.engine_rpm) / 60
    angle = 2 * np.pi * np.concatenate(([0.0], np.cumsum(turns_hz[:-1] * np.diff(time_s))))
    load = np.interp(time_s, motion.time_s, np.abs(motion.force_n)) / (synth_car.mass_kg * 3.0)
    firing = synth_car.cylinders / 2
    tones = ((firing, 0.25 + 0.5 * turns_hz / 50), (2 * firing, 0.2 * turns_hz / 50), (11.3, 0.9 * np.minimum(load, 1)))
    total = np.zeros((time_s.size, 3))
    for order, size in tones:
        heard = size * (order * turns_hz < HONEST_SHARE * rate_hz)
        total += np.outer(heard * np.sin(order * angle + rng.uniform(0, 6.28)), rng.uniform(-1, 1, 3))
    return total


def _rumble(time_s: np.ndarray, motion: Motion, *, rate_hz: float, rng: np.random.Generator) -> np.ndarray:
    """Broad noise of gears and bearings, 60 Hz and up, growing with engine speed."""
    level = 0.15 + 0.25 * np.interp(time_s, motion.time_s, motion.engine_rpm) / 3000
    top = min(500.0, HONEST_SHARE * rate_hz)
    sos = signal.butter(2, (60.0, top), "bandpass", fs=rate_hz, output="sos")
    return level[:, None] * to_unit(signal.sosfilt(sos, rng.normal(0, 1, (time_s.size, 3)), axis=0))


def _add_clash(
    total: np.ndarray, time_s: np.ndarray, clash: Clash, *, rate_hz: float, rng: np.random.Generator
) -> None:
    first, last = np.searchsorted(time_s, (clash.start_s, clash.end_s))
    if last - first < 4:
        return
    since = time_s[first:last] - clash.start_s
    lasts = clash.end_s - clash.start_s
    tone_hz = clash.from_hz * (1 - since / lasts)
    phase = 2 * np.pi * clash.from_hz * (since - since**2 / (2 * lasts))
    heard = (tone_hz < HONEST_SHARE * rate_hz) * np.sqrt(np.clip(1 - since / lasts, 0, 1))
    rough = 1 + 0.5 * rng.normal(0, 1, since.size)
    tone = np.sin(phase) + 0.4 * np.sin(2 * phase) * (2 * tone_hz < HONEST_SHARE * rate_hz)
    total[first:last] += np.outer(clash.size_mps2 * heard * rough * tone, rng.uniform(-1, 1, 3))


def _add_potholes(total: np.ndarray, time_s: np.ndarray, events: Events, *, share: float) -> None:
    for at_s, size in events.potholes:
        first, last = np.searchsorted(time_s, (at_s, at_s + 0.4))
        since = time_s[first:last] - at_s
        shock = share * size * np.exp(-since / 0.06) * np.sin(2 * np.pi * 14 * since)
        total[first:last] += np.outer(shock, (0.4, 0.2, 1.0))
