"""How strongly a person feels each frequency: the weightings of ISO 2631-1 as ISO 8041-1:2017 specifies them."""

import math
from dataclasses import dataclass

import numpy as np

LOW_HZ, HIGH_HZ, EDGE_Q = 0.4, 100.0, 1 / math.sqrt(2)
"""Band limits f1 and f2 with their Q, the same for all weightings of the whole body (ISO 8041-1:2017, table 3)."""

RINGS_OUT_S = 20.0
"""The lower band limit at 0.4 Hz has rung out to 1e-15 by then."""


@dataclass(frozen=True, kw_only=True)
class Weighting:
    """f3, f4 [Hz], Q4 of the transition from acceleration to velocity; f5, Q5, f6, Q6 of the upward step, or None."""

    transition: tuple[float, float, float] | None = None
    step: tuple[float, float, float, float] | None = None


WEIGHTINGS = {
    "band": Weighting(),
    "Wd": Weighting(transition=(2.0, 2.0, 0.63)),
    "Wk": Weighting(transition=(12.5, 12.5, 0.63), step=(2.37, 0.91, 3.35, 0.91)),
}
"""Band limits alone; Wd for what is felt along and across; Wk for what is felt upright (table 3)."""


def respond(name: str, frequency_hz: np.ndarray) -> np.ndarray:
    """Complex response of a weighting at frequencies (n,) [Hz], (n,). KeyError where there is no such weighting."""
    shape, s = WEIGHTINGS[name], 2j * math.pi * np.asarray(frequency_hz, dtype=float)
    low, high = 2 * math.pi * LOW_HZ, 2 * math.pi * HIGH_HZ
    response = s**2 / (s**2 + s * low / EDGE_Q + low**2) * high**2 / (s**2 + s * high / EDGE_Q + high**2)
    if shape.transition:
        w3, w4, q4 = _angular(*shape.transition)
        response = response * (1 + s / w3) / (1 + s / (q4 * w4) + (s / w4) ** 2)
    if shape.step:
        f5, q5, f6, q6 = shape.step
        w5, w6 = 2 * math.pi * f5, 2 * math.pi * f6
        response = response * (1 + s / (q5 * w5) + (s / w5) ** 2) / (1 + s / (q6 * w6) + (s / w6) ** 2) * (w5 / w6) ** 2
    return response


def _angular(f3: float, f4: float, q4: float) -> tuple[float, float, float]:
    return 2 * math.pi * f3, 2 * math.pi * f4, q4


def weigh(values: np.ndarray, name: str, *, rate_hz: float, top_hz: float = math.inf) -> np.ndarray:
    """A signal (n,) or (n, k) weighted from rest, same shape and unit; what lies above ``top_hz`` is left out.

    The analogue response is applied in the frequency domain, so that it holds up to half the rate, where a bilinear
    filter has long left it (at 100 Hz by 0.5 dB from 12.5 Hz on).
    """
    count = values.shape[0]
    padded = count + math.ceil(RINGS_OUT_S * rate_hz)
    frequency_hz = np.fft.rfftfreq(padded, 1 / rate_hz)
    response = respond(name, frequency_hz) * (frequency_hz <= top_hz)
    spectrum = np.fft.rfft(values, n=padded, axis=0)
    shaped = spectrum * (response if values.ndim == 1 else response[:, None])
    return np.fft.irfft(shaped, n=padded, axis=0)[:count]
