"""Which measures have rows, in which order: what the car does first, what the hand does last."""

from shiftlog.measure.catalogue import MEASURES, Measure

SHARES = ("refused_share", "grind_share", "wrong_plane_share", "jumped_share")
CAR_FIRST = (
    "refused_share", "grind_share", "jumped_share", "synchro_slope_ms_per_krpm", "wrong_plane_share", "hysteresis_mm",
    "return_time_s",
)  # fmt: skip
BY_HAND = (
    "baulk_time_s", "shift_time_s", "neutral_time_s", "drive_gap_s", "knock_peak_mps2", "knock_energy_m2s3",
    "jerk_p2p_mps3", "shuffle_amplitude_mps2", "vdv_mps175",
)  # fmt: skip
"""Figures that follow the hand: how hard it was stands beside them."""


def compared_measures() -> tuple[Measure, ...]:
    """The measures a comparison has rows for, what the car does first."""
    return tuple(MEASURES[k] for k in (*CAR_FIRST, *BY_HAND))
