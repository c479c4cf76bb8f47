"""A gauge study in the words an engineer uses: repeatability, reproducibility, per cent of total and of tolerance.

AIAG, Measurement Systems Analysis, 4th edition, chapter II D (what a gauge may take of the total or of the tolerance)
and chapter III (six standard deviations over the tolerance; categories). Percentages of standard deviations do not
add up to a hundred; their squares do.
"""

from dataclasses import dataclass
from math import hypot

from shiftlog.compare.estimate import find_rounding
from shiftlog.model.repeatability import GaugeRow, GaugeStudy

GOOD, USABLE = 10.0, 30.0
CATEGORIES = 5
SPREADS = 6.0


@dataclass(frozen=True, eq=False, kw_only=True)
class GaugeLine:
    """One part of a study.

    sd : in the measure's unit; of_total : [% of the total standard deviation], None where nothing varies
    of_tolerance : six of ``sd`` over the width of the tolerance [%], None where there is no margin
    """

    name: str
    means: str
    sd: float
    of_total: float | None
    of_tolerance: float | None


def gauge_lines(study: GaugeStudy, margin: float | None) -> tuple[GaugeLine, ...]:
    """The parts of a study. margin : the tolerance is this much either way, in the measure's unit."""
    parts = (
        ("Repeatability", "one driver again, nothing changed (EV)", study.repeat),
        ("Reproducibility", "between drivers (AV)", hypot(study.driver, study.interaction)),
        ("Gauge", "repeatability and reproducibility together (GRR)", study.gauge),
        ("Setup to setup", "what was changed on the car (PV)", study.setup),
        ("Total", "all of it (TV)", study.total),
    )
    return tuple(
        GaugeLine(
            name=name,
            means=means,
            sd=sd,
            of_total=100 * sd / study.total if study.total > 0 else None,
            of_tolerance=100 * SPREADS * sd / (2 * margin) if margin else None,
        )  # fmt: skip
        for name, means, sd in parts
    )


def say_gauge(row: GaugeRow) -> str:
    """What a measure's study says: the gauge's share of the total and how many setups it tells apart."""
    if row.anova is None:
        return f"no gauge study: {row.why}"
    if row.anova.gauge_percent is None or _is_flat(row.anova):
        return rank_gauge(row.anova)
    took = f"the gauge takes {row.anova.gauge_percent:.0f} % of the total"
    return f"{took}, {rank_gauge(row.anova)}; {_say_categories(int(row.anova.categories))}"


def _is_flat(study: GaugeStudy) -> bool:
    return study.gauge <= find_rounding(study.total) ** 0.5


def rank_gauge(study: GaugeStudy) -> str:
    """How a study stands to the usual rule."""
    percent = study.gauge_percent
    if percent is None:
        return "nothing varies: neither drives nor drivers nor setups differed"
    if _is_flat(study):
        return "drives and drivers did not differ at all, setups did"
    if percent < GOOD:
        return f"under {GOOD:.0f} %: good enough by the usual rule"
    if percent <= USABLE:
        return f"{GOOD:.0f} to {USABLE:.0f} %: usable for some questions by the usual rule"
    return f"over {USABLE:.0f} %: not good enough by the usual rule to tell these setups apart"


def count_classes(study: GaugeStudy) -> str:
    """How many classes of setups a study tells apart; a dash where nothing but the setups differed, or nothing did."""
    return "–" if study.gauge_percent is None or _is_flat(study) else str(int(study.categories))


def _say_categories(found: int) -> str:
    if found < 2:
        return "it cannot tell two setups like these apart"
    rule = "as many as" if found == CATEGORIES else "more than" if found > CATEGORIES else "fewer than"
    return f"it tells {found} classes of setups apart, {rule} the {CATEGORIES} of the usual rule"


def say_pooled(study: GaugeStudy) -> str | None:
    """What became of the interaction of drivers and setups, None where the method knows none."""
    p = study.p_interaction
    if p is None:
        return None
    shown = "under 0.001" if p < 0.001 else f"{p:.2g}"
    if study.interaction == 0:
        return f"drivers and setups do not interact beyond chance (p {shown}); the interaction counts as repeatability"
    return f"a driver does better in one setup than in another (p {shown}); this counts as reproducibility"
