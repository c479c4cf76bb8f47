"""How warm the gearbox was: from a probe, from what was typed, else minutes since the log began, named as such."""

from dataclasses import dataclass

import numpy as np

from shiftlog.measure.scene import Scene
from shiftlog.measure.synchro import temperature_band

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


def find_warmth(scene: Scene, start_s: float, end_s: float, configuration: str | None) -> Warmth:
    """Of a marked span."""
    word = band_of_words(configuration)
    trace = scene.signals.gearbox_temp
    if trace is not None:
        inside = trace.values[(trace.time_s >= start_s) & (trace.time_s <= end_s)]
        if inside.size:
            value = float(np.median(inside))
            return Warmth(state=word or temperature_band(value), value=value, how=PROBE)
    if scene.typed_temp_c is not None:
        return Warmth(state=word or temperature_band(scene.typed_temp_c), value=scene.typed_temp_c, how=TYPED)
    return Warmth(state=word or "not known", value=start_s / 60, how=MINUTES)
