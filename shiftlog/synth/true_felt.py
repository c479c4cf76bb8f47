"""What a passenger truly felt of a shift: the dose and the peak of ISO 2631-1, as an ideal sensor would give them."""

import numpy as np

from shiftlog.model.reading import Reading, measured, unmeasured

KEYS = ("vdv_mps175", "mtvv_mps2")
BEFORE_S, AFTER_S, RUNNING_S = 0.2, 1.5, 1.0
EDGES = (0.4, 100.0, 1 / np.sqrt(2))
"""Band limits of ISO 8041-1:2017, table 3: f1, f2 [Hz] and their Q."""
TRANSITION = {"d": (2.0, 2.0, 0.63), "k": (12.5, 12.5, 0.63)}
"""f3, f4 [Hz], Q4 of Wd and Wk."""
STEP = (2.37, 0.91, 3.35, 0.91)
"""f5, Q5, f6, Q6 of Wk; Wd has no upward step."""


def weight(frequency_hz: np.ndarray, which: str) -> np.ndarray:
    """Complex response of Wd (``d``) or Wk (``k``), (n,), by the transfer functions of ISO 8041-1:2017, table 3."""
    s = 2j * np.pi * np.asarray(frequency_hz, dtype=float)
    low, high, q = (2 * np.pi * EDGES[0], 2 * np.pi * EDGES[1], EDGES[2])
    band = s**2 / (s**2 + s * low / q + low**2) * high**2 / (s**2 + s * high / q + high**2)
    third, fourth, q4 = TRANSITION[which]
    w3, w4 = 2 * np.pi * third, 2 * np.pi * fourth
    turned = band * (1 + s / w3) / (1 + s / (q4 * w4) + (s / w4) ** 2)
    if which == "d":
        return turned
    w5, w6 = 2 * np.pi * STEP[0], 2 * np.pi * STEP[2]
    up = (1 + s / (STEP[1] * w5) + (s / w5) ** 2) / (1 + s / (STEP[3] * w6) + (s / w6) ** 2)
    return turned * up * (w5 / w6) ** 2


def weighted(accel: np.ndarray, *, rate_hz: float) -> np.ndarray:
    """The whole course weighted, Wd on x and y, Wk on z: (n, 3) → (n, 3) [m/s²]; ends padded by their own level."""
    pad = int(10 * rate_hz)
    level = np.pad(accel - accel.mean(axis=0), ((pad, pad), (0, 0)), mode="reflect", reflect_type="odd")
    spectrum = np.fft.rfft(level, axis=0)
    frequency_hz = np.fft.rfftfreq(level.shape[0], 1 / rate_hz)
    shapes = np.stack([weight(frequency_hz, which) for which in "ddk"], axis=1)
    return np.fft.irfft(spectrum * shapes, n=level.shape[0], axis=0)[pad:-pad]


def felt_readings(felt: np.ndarray | None, rate_hz: float, span: tuple[float, float] | None, why: str) -> list[Reading]:
    """Dose and peak over ``span`` (start and end of a shift) from the weighted course (n, 3), or None with ``why``."""
    if felt is None or span is None:
        return [unmeasured(key, why) for key in KEYS]
    first, last = (span[0] - BEFORE_S) * rate_hz, (span[1] + AFTER_S) * rate_hz
    cut = felt[max(int(round(first)), 0) : int(round(last)) + 1]
    dose = float(np.sum(cut**4) / rate_hz) ** 0.25
    width = int(round(RUNNING_S * rate_hz))
    energy = np.concatenate(([0.0], np.cumsum(np.sum(cut**2, axis=1))))
    running = (energy[width:] - energy[:-width]) / width
    return [measured(KEYS[0], dose), measured(KEYS[1], float(np.sqrt(running.max())))]
