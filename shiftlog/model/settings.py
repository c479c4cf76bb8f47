"""Every threshold of detecting and measuring, in physical units, each with its reason."""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Settings:
    """Defaults are the definitions' own values unless a comment says otherwise."""

    # Depth levels of a journey (10/50/90 % reference levels, IEEE Std 181).
    depth_low: float = 0.1
    depth_mid: float = 0.5
    depth_high: float = 0.9
    in_gear_hold_s: float = 0.1
    seat_window_s: float = 0.5
    seat_guard_s: float = 0.05
    neutral_depth: float = 0.3
    neutral_stay_s: float = 2.0
    lay_s: float = 0.3
    still_mmps: float = 5.0
    still_window_s: float = 0.1
    fast_window_s: float = 0.02
    pause_s: float = 0.15
    attempt_depth: float = 0.35
    attempt_fall: float = 0.2
    baulk_low: float = 0.3
    baulk_high: float = 0.85
    baulk_speed_share: float = 0.2
    wrong_gear_s: float = 0.8
    standing_mps: float = 1.0
    return_band_mm: float = 1.0
    return_least_mm: float = 3.0
    swing_least_mm: float = 10.0
    bend_mps2: float = 2.0

    # Knock.
    knock_low_hz: float = 20.0
    knock_high_share: float = 0.4
    knock_high_hz: float = 800.0
    knock_before_s: float = 0.02
    knock_after_s: float = 0.12
    # Two octaves of band are the least in which a blow has a shape (common practice, no source).
    knock_least_rate_hz: float = 200.0

    # Drive gap. Before: from … to … before its start; after: from … to … after its end.
    gap_corner_hz: float = 3.0
    gap_order: int = 2
    gap_before_s: tuple[float, float] = (0.6, 0.2)
    gap_middle_s: float = 0.1
    gap_after_s: tuple[float, float] = (0.4, 1.2)
    gap_share: float = 0.5
    # A gap shallower than this cannot be told from slope and throttle (common practice, no source).
    gap_least_mps2: float = 0.3
    # Air, rolling and an engine on the overrun slow a car by less than this; beyond it the brakes are on.
    gap_brakes_mps2: float = -3.0
    # A stay in neutral of two seconds ends a journey, and the clutch takes its time at both ends.
    gap_longest_s: float = 3.0

    # Shifts from a phone alone. Found: two to one for a shift; there one in twenty is invented of drivers who follow
    # the road and were not fitted to, and one invented does more harm than one missed. Below one to four nothing is
    # worth a line among the rejected: an unknown driver's foot alone does as much.
    phone_least_probability: float = 0.65
    # Where it begins with engine braking that goes away, likelier than not: such claims from 0.5 to 0.6, of six
    # drivers, are true in 65 of 100. A throttle closed and opened again, which looks like a shift, begins otherwise.
    # Without speed the level of a freely rolling car is known less well, and 40 of 106 are true.
    phone_least_probability_overrun: float = 0.5
    phone_candidate_probability: float = 0.2
    # The greater step must stand out from the road's own standard deviation there, unless all else makes it nine to
    # one; and the release must be felt, as without it a start is known to a second only (0.66 s, made drives).
    phone_least_step_over_road: float = 1.5
    phone_least_release_over_road: float = 0.75
    phone_sure_probability: float = 0.9
