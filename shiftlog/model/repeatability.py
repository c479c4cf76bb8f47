"""What a setup can show: how much drives differ with nothing changed, and the gauge study."""

from dataclasses import dataclass


@dataclass(frozen=True, eq=False, kw_only=True)
class Repeatability:
    """One measure over repeat drives, in its unit.

    shifts : that count, of a guided test its drives; within_sd : of a drive's figure over all kinds, within one setup
    shift_sd : of one shift within a drive, of a guided test what its own repeats leave uncertain
    smallest_change : that as many drives a side as ``a_side`` can show in 95 %, shifts and drives as they were here
    df : degrees of freedom of ``within_sd``; why : why there is no smallest change, or None
    margin : a smaller difference does not matter, or None; drives_needed : a side to show it, of such drives
    """

    measure: str
    unit: str
    drives: int
    shifts: int
    within_sd: float | None
    shift_sd: float | None
    smallest_change: float | None
    a_side: int
    df: int
    why: str | None = None
    margin: float | None = None
    drives_needed: int | None = None


@dataclass(frozen=True, eq=False, kw_only=True)
class GaugeStudy:
    """Standard deviations of a gauge study and what share of the whole each is.

    repeat : equipment variation, between repeats; driver : appraiser variation
    interaction : driver by setup, 0 where it was pooled; gauge : all of these
    setup : between setups; total : of everything
    categories : how many setups apart it can tell; p_interaction : None for the average-range method
    """

    method: str
    repeat: float
    driver: float
    interaction: float
    gauge: float
    setup: float
    total: float
    categories: float
    p_interaction: float | None = None

    @property
    def gauge_percent(self) -> float | None:
        """The gauge's share of the total standard deviation [%], None where nothing varies."""
        return 100 * self.gauge / self.total if self.total > 0 else None


@dataclass(frozen=True, eq=False, kw_only=True)
class GaugeRow:
    """A measure's gauge study both ways, or why there is none.

    unsteady : (setup, driver) whose repeats differ more than chance allows (range chart)
    margin : a smaller difference does not matter, or None
    """

    measure: str
    unit: str
    setups: tuple[str, ...]
    drivers: tuple[str, ...]
    repeats: int
    average_range: GaugeStudy | None = None
    anova: GaugeStudy | None = None
    unsteady: tuple[tuple[str, str], ...] = ()
    why: str | None = None
    margin: float | None = None


@dataclass(frozen=True, eq=False, kw_only=True)
class SetupWorth:
    """What repeat drives say of a shop's instrument. missing : what to drive for a gauge study, in words."""

    drives: tuple[str, ...]
    repeatability: tuple[Repeatability, ...]
    gauge: tuple[GaugeRow, ...]
    missing: tuple[str, ...] = ()
