"""How warm the gearbox was: from a probe, from what was typed, else minutes since the log began, named as such."""

from dataclasses import dataclass

import numpy as np

from shiftlog.measure.scene import Scene
from shiftlog.measure.synchro import temperature_band
from shiftlog.model.drive import MarkedTest

PROBE, TYPED, MINUTES = "probe", "typed", "minutes since the log began"
COLD, HOT, SOAKED = "cold", "hot", "soaked"


@dataclass(frozen=True, eq=False, kw_only=True)
class Warmth:
    """state : ``cold`` | ``hot`` | ``soaked`` | ``between`` | ``not known``; value [°C, or minutes]; how : source"""

    state: str
    value: float
    how: str

    @property
    def words(self) -> str:
        """As printed: ``24 °C by probe``, or ``3 minutes since the log began``."""
        if self.how == MINUTES:
            return f"{self.value:.0f} {MINUTES}"
        return f"{self.value:.0f} °C, {self.how}"


def band_of_words(configuration: str | None) -> str | None:
    """``cold`` | ``hot`` | ``soaked`` where the mark says so, else None."""
    words = (configuration or "").lower()
    if "soak" in words:
        return SOAKED
    return COLD if "cold" in words else HOT if "hot" in words or "warm" in words else None


def find_warmth(scene: Scene, test: MarkedTest) -> Warmth:
    """Of a marked span. What was typed for the whole drive does not stand for a span that names another state."""
    word = band_of_words(test.configuration)
    trace = scene.signals.gearbox_temp
    if trace is not None:
        inside = trace.values[(trace.time_s >= test.start_s) & (trace.time_s <= test.end_s)]
        if inside.size:
            value = float(np.median(inside))
            return Warmth(state=word or temperature_band(value), value=value, how=PROBE)
    for typed in (test.gearbox_temp_c, scene.typed_temp_c):
        band = temperature_band(typed) if typed is not None else None
        if band and (typed is test.gearbox_temp_c or word in (None, band) or (word == SOAKED and band == HOT)):
            return Warmth(state=word or band, value=typed, how=TYPED)
    return Warmth(state=word or "not known", value=test.start_s / 60, how=MINUTES)
