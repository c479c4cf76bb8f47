"""What a drive says of the car's ratios: learnt where they are not known, checked where they are."""

from shiftlog.detect.bands import FITS, TYRE_OFF, RatioBands, as_text, name_gears, profile_ratios, seen_ladder
from shiftlog.detect.lag import find_lag
from shiftlog.detect.ratio_fit import fit_ratios
from shiftlog.detect.settled import find_settled
from shiftlog.detect.speeds import Samples, new_samples
from shiftlog.model.car import Car
from shiftlog.model.trace import Trace
from shiftlog.units import as_percent


def learn_ratios(engine_speed: Trace, vehicle_speed: Trace, *, car: Car | None = None) -> RatioBands:
    """Engine speed over vehicle speed of each gear with the clutch closed, as driven.

    engine_speed [rpm], vehicle_speed [m/s]; car : names the gears where its ratios fit with one common factor.
    No gears come back where the car was not driven and the profile has no ratios.
    """
    return learn_from_samples(new_samples(engine_speed), new_samples(vehicle_speed), car=car)


def learn_from_samples(engine: Samples, vehicle: Samples, *, car: Car | None) -> RatioBands:
    """As ``learn_ratios``, from the new samples of both signals."""
    lag = find_lag(engine, vehicle)
    settled = find_settled(engine, vehicle, lag_s=lag.lag_s)
    return name_gears(fit_ratios(settled, step_mps=vehicle.step), lag, car)


def check_ratios(bands: RatioBands, car: Car) -> tuple[str, ...]:
    """What of the profile's ratios does not fit engine and vehicle speed, one line each; empty where all fit."""
    profile = profile_ratios(car)
    if not profile or not (bands.learnt or bands.unnamed):
        return ()
    if bands.naming != "profile":
        driven = "; ".join(as_text(ratio) for ratio in bands.learnt.values())
        if len(bands.learnt) > len(profile):
            driven += f" ({len(bands.learnt)} gears, the profile has {len(profile)})"
        return (
            f"the profile's ratios do not fit engine and vehicle speed: driven {driven}; profile "
            f"{seen_ladder(profile)}; check ratios, final drive and tyre",
        )
    return (*_scale_line(bands, profile), *_gear_lines(bands, profile), *_unnamed_lines(bands, profile))


def _scale_line(bands: RatioBands, profile: dict[str, float]) -> tuple[str, ...]:
    if abs(bands.scale - 1) <= TYRE_OFF:
        return ()
    way = "above" if bands.scale > 1 else "below"
    gear, ratio = next(iter(bands.learnt.items()))
    return (
        f"all gears lie {as_percent(abs(bands.scale - 1))} {way} the profile (gear {gear}: {as_text(ratio)} driven, "
        f"{as_text(profile[gear])} by the profile); check final drive and tyre",
    )


def _gear_lines(bands: RatioBands, profile: dict[str, float]) -> list[str]:
    lines = []
    for gear, ratio in bands.learnt.items():
        off = ratio / (profile[gear] * bands.scale) - 1
        if abs(off) > FITS:
            lines.append(
                f"gear {gear} does not fit its ratio: {as_text(ratio)} driven, {as_text(profile[gear] * bands.scale)} "
                f"by the profile with the other gears' common factor ({100 * off:+.1f} %); check ratio {gear}"
            )
    return lines


def _unnamed_lines(bands: RatioBands, profile: dict[str, float]) -> list[str]:
    return [
        f"the car was driven at {as_text(ratio)}, which no gear of the profile gives ({seen_ladder(profile)})"
        for ratio in bands.unnamed
    ]


def naming_notes(bands: RatioBands, car: Car) -> tuple[str, ...]:
    """How the gears got their names, and what is known of the lag, one sentence each."""
    notes = []
    if bands.naming == "assumed" and bands.gears and profile_ratios(car):
        notes.append("gear names are assumed from the size of the ratios, as the profile's do not fit")
    elif bands.naming == "assumed" and bands.gears:
        notes.append(
            "gear names are assumed from the size of the ratios; give ratios, final drive and tyre, or the ratios "
            f"learnt here ({seen_ladder(bands.learnt)}), in the profile to be sure"
        )
    if bands.naming == "gate":
        notes.append("gears are named by their order: as many ratios were driven as the gate has forward gears")
    if bands.lag.uncertainty_s is None:
        notes.append(f"no lag between engine and vehicle speed is taken out: {bands.lag.why}")
    else:
        notes.append(
            f"vehicle speed lags engine speed by {bands.lag.lag_s:.2f} s (± {bands.lag.uncertainty_s:.2f} s), "
            "taken out before ratios are formed"
        )
    return tuple(notes)
