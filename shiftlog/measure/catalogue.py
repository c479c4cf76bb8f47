"""The measures: name, unit, meaning, source, which way is better. Labels everywhere come from here."""

from collections.abc import Mapping

from shiftlog.measure.catalogue_tests import TEST_MEASURES
from shiftlog.measure.entry import (
    CLASH,
    CLASH_NEEDS,
    DEFINITION,
    IEEE_181,
    ISO_2631,
    KINEMATICS,
    LEVER_NEEDS,
    Measure,
)

_CLASH, _LEVER = CLASH_NEEDS, LEVER_NEEDS
_SPEED = "vehicle speed"
_BLOW = "an accelerometer at the gearbox or the lever, 200 Hz or faster"
_BODY = "an accelerometer at the body whose mounting is known"

_ALL = (
    Measure(
        key="shift_time_s", label="Shift time", unit="s", of="shift", needs=_LEVER, source=IEEE_181,
        definition="from the old gear's depth falling through 0.9 to the new gear's rising through 0.9",
        better="lower", plausible=(0.05, 3.0), margin=0.02,
    ),
    Measure(
        key="neutral_time_s", label="Neutral time", unit="s", of="shift", needs=_LEVER, source=IEEE_181,
        definition="from the old gear's depth falling through 0.5 to the new gear's rising through 0.5",
        better="lower", plausible=(0.02, 2.5), margin=0.02,
    ),
    Measure(
        key="baulk_time_s", label="Baulk time", unit="s", of="shift", needs=_LEVER, source=DEFINITION,
        definition="how long the lever stands on its way in, at depth 0.3 to 0.85, all attempts together",
        better="lower", plausible=(0.0, 1.5), margin=0.02,
    ),
    Measure(
        key="approach_speed_mmps", label="Approach speed", unit="mm/s", of="shift", needs=_LEVER,
        source=DEFINITION, definition="peak engage speed from neutral to depth 0.3: how hard the hand was",
        better=None, plausible=(10.0, 2000.0),
    ),
    Measure(
        key="drive_gap_s", label="Drive gap", unit="s", of="shift", needs=_BODY, source=DEFINITION,
        definition="how long the drive was interrupted, between the 50 % levels of longitudinal acceleration; "
        "not a lever time", better="lower", plausible=(0.1, 3.0), margin=0.05,
    ),
    Measure(
        key="over_rev", label="Would over-rev", unit="", of="shift", source=KINEMATICS,
        needs="a lever sensor or engine speed, vehicle speed, ratios and redline",
        definition="the vehicle speed at the end means an engine speed above the redline in the gear entered",
        better="lower", plausible=(0.0, 1.0),
    ),
    Measure(
        key="did_over_rev", label="Did over-rev", unit="", of="shift", source=DEFINITION,
        needs="engine speed and redline", definition="the engine's own logged speed exceeded the redline",
        better="lower", plausible=(0.0, 1.0),
    ),
    Measure(
        key="engine_speed_rpm", label="Engine speed", unit="rpm", of="shift", needs="engine speed",
        source=DEFINITION, definition="engine speed at the start of the shift", better=None,
        plausible=(0.0, 12000.0),
    ),
    Measure(
        key="vehicle_speed_mps", label="Vehicle speed", unit="m/s", of="shift", needs=_SPEED,
        source=DEFINITION, definition="vehicle speed at the start of the shift", better=None,
        plausible=(0.0, 90.0),
    ),
    Measure(
        key="gearbox_temp_c", label="Gearbox temperature", unit="°C", of="shift", source=DEFINITION,
        needs="a gearbox temperature, logged or typed", definition="gearbox temperature at the start",
        better=None, plausible=(-40.0, 160.0),
    ),
    Measure(
        key="rev_mismatch_rpm", label="Rev mismatch", unit="rpm", of="shift", source=DEFINITION,
        needs="engine speed and vehicle speed at 5 Hz or faster, and ratios",
        definition="engine speed minus vehicle speed times ratio as the clutch takes up, signed",
        better=None, plausible=(-5000.0, 5000.0),
    ),
    Measure(
        key="speed_difference_rpm", label="Speed difference", unit="rpm", of="shift", source=KINEMATICS,
        needs="vehicle speed and ratios, out of neutral engine speed too",
        definition="difference in speed at the hub of the gear entered: what the gear left turned the input shaft at, "
        "or the engine out of neutral, less what the new gear will pull it to; taken at the engine where the ratio of "
        "that gear alone is not known", better=None, plausible=(-6000.0, 6000.0),
    ),
    Measure(
        key="knock_peak_mps2", label="Knock", unit="m/s²", of="shift", needs=_BLOW, source=DEFINITION,
        definition="peak of the blow as the gear goes in, band-passed from 20 Hz", better="lower",
        plausible=(0.0, 2000.0), margin=1.0,
    ),
    Measure(
        key="knock_energy_m2s3", label="Knock energy", unit="m²/s³", of="shift", needs=_BLOW,
        source=DEFINITION, definition="integral of the squared blow over the same window", better="lower",
        plausible=(0.0, 50000.0),
    ),
    Measure(
        key="jerk_p2p_mps3", label="Driveline clunk", unit="m/s³", of="shift", needs=_BODY, source=DEFINITION,
        definition="peak-to-peak longitudinal jerk within 1.5 s of take-up", better="lower",
        plausible=(0.0, 500.0),
    ),
    Measure(
        key="shuffle_hz", label="Shuffle frequency", unit="Hz", of="shift", needs=_BODY, source=DEFINITION,
        definition="undamped natural frequency of the driveline's swing after take-up", better=None,
        plausible=(1.0, 12.0),
    ),
    Measure(
        key="shuffle_damping", label="Shuffle damping", unit="", of="shift", needs=_BODY, source=DEFINITION,
        definition="damping ratio of that swing", better="higher", plausible=(0.0, 1.0),
    ),
    Measure(
        key="shuffle_amplitude_mps2", label="Shuffle amplitude", unit="m/s²", of="shift", needs=_BODY,
        source=DEFINITION, definition="envelope of that swing at take-up", better="lower",
        plausible=(0.0, 10.0),
    ),
    Measure(
        key="shuffle_decrement_damping", label="Shuffle damping by decrement", unit="", of="shift", needs=_BODY,
        source=DEFINITION, definition="damping ratio from the logarithmic decrement of the swing's peaks, beside the "
        "fitted one", better="higher", plausible=(0.0, 1.0),
    ),
    Measure(
        key="vdv_mps175", label="Felt dose", unit="m/s^1.75", of="shift", needs=_BODY, source=ISO_2631,
        definition="vibration dose value at the body over the shift", better="lower", plausible=(0.0, 20.0),
    ),
    Measure(
        key="mtvv_mps2", label="Felt peak", unit="m/s²", of="shift", needs=_BODY, source=ISO_2631,
        definition="maximum transient vibration value over the shift", better="lower", plausible=(0.0, 10.0),
    ),
    Measure(
        key="band_low_hz", label="Felt dose from", unit="Hz", of="shift", needs=_BODY, source=ISO_2631,
        definition="lowest frequency that was weighed for the felt dose", better=None, plausible=(0.0, 10.0),
    ),
    Measure(
        key="band_high_hz", label="Felt dose up to", unit="Hz", of="shift", needs=_BODY, source=ISO_2631,
        definition="highest frequency that was weighed for the felt dose", better=None, plausible=(5.0, 400.0),
    ),
    Measure(
        key="grind", label="Grind", unit="", of="shift", source=DEFINITION, better="lower", needs=_CLASH,
        definition="whether teeth clashed while their speeds still differed; at most 1 in 100 shifts without a clash "
        "is taken for one", plausible=(0.0, 1.0),
    ),
    Measure(
        key="grind_level_db", label="Grind level", unit="dB", of="shift", source=DEFINITION, better="lower",
        needs=_CLASH, definition="the burst's r.m.s. over the background, before the gear goes in",
        plausible=(-20.0, 60.0), margin=3.0,
    ),
    Measure(
        key="grind_duration_s", label="Grind duration", unit="s", of="shift", source=DEFINITION, better="lower",
        needs=_CLASH, definition="how long the burst stood 6 dB or more over the background", plausible=(0.0, 2.0),
        margin=0.02,
    ),
    Measure(
        key="clash_match", label="Clash match", unit="", of="shift", source=CLASH, better=None,
        needs=f"{_CLASH}, engine and vehicle speed, ratios and dog teeth",
        definition="share of the burst's energy near a clash frequency that the speeds allow; evidence, no condition",
        plausible=(0.0, 1.0),
    ),
    Measure(
        key="crash_through", label="Crashed through", unit="", of="shift", needs=f"{_LEVER} and {_CLASH}",
        source=DEFINITION, better="lower", plausible=(0.0, 1.0),
        definition="whether a quick shift went in with a grind and without a stand of the lever",
    ),
    Measure(
        key="offset_mm", label="Rest offset", unit="mm", of="rest", needs=_LEVER, source=DEFINITION,
        definition="select distance of the rest from the home plane's centre", better=None,
        plausible=(-100.0, 100.0), margin=2.0,
    ),
    Measure(
        key="return_time_s", label="Return time", unit="s", of="rest", needs=_LEVER, source=DEFINITION,
        definition="from the last extreme on the side it was held to staying within 1 mm of the rest",
        better="lower", plausible=(0.02, 5.0), margin=0.05,
    ),
    Measure(
        key="overshoot", label="Overshoot", unit="", of="rest", needs=_LEVER, source=DEFINITION,
        definition="first swing past the rest over the motion towards it", better=None, plausible=(0.0, 1.0),
    ),
    Measure(
        key="frequency_hz", label="Return frequency", unit="Hz", of="rest", needs=_LEVER, source=DEFINITION,
        definition="undamped natural frequency of the lever's return", better=None, plausible=(0.5, 15.0),
    ),
    Measure(
        key="damping", label="Return damping", unit="", of="rest", needs=_LEVER, source=DEFINITION,
        definition="damping ratio of the lever's return", better=None, plausible=(0.0, 2.0),
    ),
    Measure(
        key="wrong_plane_share", label="Rests out of the home plane", unit="", of="drive", needs=_LEVER,
        source="Clopper and Pearson, Biometrika 26 (1934)", better="lower", plausible=(0.0, 1.0),
        definition="share of released rests that lie nearest to another plane than the home plane", margin=0.05,
        counted="rest",
    ),
    Measure(
        key="refused_share", label="Refusals", unit="", of="drive", needs=_LEVER, source=DEFINITION,
        definition="share of shifts under way in which a gear was refused at least once", better="lower",
        plausible=(0.0, 1.0), margin=0.02, counted="shift",
    ),
    Measure(
        key="grind_share", label="Grinds", unit="", of="drive", needs=_CLASH, source=DEFINITION, better="lower",
        plausible=(0.0, 1.0), margin=0.02, definition="share of shifts under way in which teeth clashed",
        counted="shift",
    ),
    Measure(
        key="jumped_share", label="Gears left by themselves", unit="", of="drive", needs=_LEVER, source=DEFINITION,
        better="lower", plausible=(0.0, 1.0), margin=0.02, counted="shift",
        definition="share of journeys out of a gear under way that began as the gear let go by itself",
    ),
    Measure(
        key="straight_push_share", label="Straight pushes that find the home gear", unit="", of="drive", needs=_LEVER,
        source="Clopper and Pearson, Biometrika 26 (1934)", better="higher", plausible=(0.0, 1.0), margin=0.05,
        counted="push", test="straight_push", figure="found_home",
        definition="share of pushes straight in from a let-go lever, in a marked test, that found the home gear",
    ),
    Measure(
        key="hysteresis_mm", label="Rest hysteresis", unit="mm", of="drive", needs=_LEVER, source=DEFINITION,
        definition="median rest when let go from the right minus median rest when let go from the left",
        better=None, plausible=(-60.0, 60.0), margin=1.0,
        test="release", figure="hysteresis_mm", size_only=True,
    ),
    Measure(
        key="synchro_slope_ms_per_krpm", label="Synchroniser slope", unit="ms per 1,000 rpm", of="drive",
        source="t = J Δω / T", needs=f"{_LEVER}, vehicle speed and ratios",
        definition="how much longer the lever stands for each 1,000 rpm of difference in speed; wear shows as steeper, "
        "or as no stand at all and a grind, so a lower slope alone is never better",
        better=None, plausible=(0.0, 500.0),
        test="synchroniser", figure="synchro_slope_ms_per_krpm",
    ),
    Measure(
        key="crash_through_share", label="Crashes through", unit="", of="drive", needs=f"{_LEVER} and {_CLASH}",
        source="Clopper and Pearson, Biometrika 26 (1934)", better="lower", plausible=(0.0, 1.0), margin=0.05,
        counted="shift",
        definition="share of quick shifts that went in with a grind and without a stand of the lever",
        test="synchroniser", figure="crash_through_share",
    ),
)  # fmt: skip

MEASURES: Mapping[str, Measure] = {measure.key: measure for measure in (*_ALL, *TEST_MEASURES)}


def shift_keys() -> tuple[str, ...]:
    """Keys of the figures of a shift, in printing order."""
    return tuple(m.key for m in _ALL if m.of == "shift")
