"""Weightings, doses and peaks of ISO 2631-1 against the figures that ISO 8041-1:2017 prints.

The standard itself was not seen: its tables stand, transcribed, in the sources and tests of a public package for human
vibration (tables 3, 6 and 8, annex B), and were recomputed with scipy before they were written here.
"""

import numpy as np
import pytest
from scipy.signal import lfilter

from shiftlog.signal.felt import running_rms, vibration_dose
from shiftlog.signal.weighting import respond, weigh

FIRST_BAND = -10
"""Annex B lists third octaves at their true centres 10^(n/10) Hz from this n on."""

ANNEX_B_WK = (
    0.03121, 0.04931, 0.07756, 0.1207, 0.1832, 0.2644, 0.3504, 0.4188, 0.4588, 0.4767, 0.4825, 0.4846, 0.4935,
    0.5308, 0.6335, 0.8071, 0.9648, 1.039, 1.054, 1.037, 0.9884, 0.8989, 0.7743, 0.6373, 0.5103, 0.4031, 0.316,
    0.2451, 0.1857, 0.1339, 0.08873, 0.05311, 0.02922, 0.01528, 0.007795, 0.003935, 0.001978,
)  # fmt: skip
ANNEX_B_WD = (
    0.06242, 0.09867, 0.1553, 0.242, 0.3682, 0.533, 0.7097, 0.854, 0.9443, 0.9914, 1.011, 1.007, 0.9707, 0.8913,
    0.7733, 0.6398, 0.5143, 0.4081, 0.3226, 0.255, 0.2017, 0.1597, 0.1266, 0.1004, 0.07958, 0.06299, 0.04965,
    0.03872, 0.02946, 0.0213, 0.01414, 0.008478, 0.004668, 0.002442, 0.001246, 0.0006293, 0.0003164,
)  # fmt: skip


@pytest.mark.parametrize(("name", "printed"), [("Wk", ANNEX_B_WK), ("Wd", ANNEX_B_WD)])
def test_every_factor_of_annex_b(name, printed):
    """Four figures are printed: half of the last is 5e-4 of the smallest leading figure."""
    centres = 10 ** ((FIRST_BAND + np.arange(len(printed))) / 10)
    np.testing.assert_allclose(np.abs(respond(name, centres)), printed, rtol=5e-4)


def test_the_band_limits_alone_and_the_reference_frequency():
    """Annex B: 0.9874 at 1 Hz and 0.8457 at 79.43 Hz; table 1: 0.7718 (Wk) and 0.1261 (Wd) at 100 rad/s."""
    np.testing.assert_allclose(np.abs(respond("band", np.array([1.0, 10**1.9]))), [0.9874, 0.8457], rtol=5e-4)
    for name, printed in (("Wk", 0.7718), ("Wd", 0.1261)):
        assert abs(respond(name, np.array([100 / (2 * np.pi)]))[0]) == pytest.approx(printed, rel=5e-4)


def test_wd_at_ten_hertz_is_the_transfer_functions():
    """ISO 2631-1:1997, table 3, has 212 at 10 Hz; its own transfer function and ISO 8041-1 have 0.2017, which holds."""
    assert abs(respond("Wd", np.array([10.0]))[0]) == pytest.approx(0.2017, rel=5e-4)


@pytest.mark.parametrize(
    ("name", "frequency_hz", "rms", "dose"),
    [("Wk", 1.0, 0.341160, 1.003977), ("Wd", 1.0, 0.714897, 2.103821), ("Wk", 6.31, 0.745543, 2.194009)],
)
def test_a_sine_weighs_what_its_closed_form_says(name, frequency_hz, rms, dose):
    """Amplitude 1 m/s² over 50 s: r.m.s. |H|/√2, dose |H| (3 T/8)^¼; figures recomputed from the transfer function."""
    time = np.arange(0, 80, 1 / 1600)
    weighted = weigh(np.sin(2 * np.pi * frequency_hz * time), name, rate_hz=1600)[: 70 * 1600][20 * 1600 :]
    assert np.sqrt(np.mean(weighted**2)) == pytest.approx(rms, rel=1e-3)
    assert vibration_dose(weighted, 1600) == pytest.approx(dose, rel=1e-3)


BURSTS = (
    ("band", 1, 0.0433, 0.498, 0.137, 0.135),
    ("band", 2, 0.0612, 0.593, 0.193, 0.188),
    ("band", 4, 0.0865, 0.705, 0.274, 0.258),
    ("band", 8, 0.122, 0.838, 0.387, 0.344),
    ("band", 16, 0.173, 0.996, 0.547, 0.437),
    ("band", 0, 0.546, 1.77, 0.547, 0.549),
    ("Wd", 1, 0.00669, 0.0779, 0.0212, 0.0197),
    ("Wd", 2, 0.00906, 0.0852, 0.0286, 0.0264),
    ("Wd", 4, 0.0116, 0.0923, 0.0366, 0.033),
    ("Wd", 8, 0.0148, 0.101, 0.0469, 0.04),
    ("Wd", 16, 0.0197, 0.115, 0.0611, 0.0481),
    ("Wd", 0, 0.059, 0.197, 0.0611, 0.0594),
    ("Wk", 1, 0.0299, 0.323, 0.0944, 0.0922),
    ("Wk", 2, 0.0411, 0.38, 0.13, 0.125),
    ("Wk", 4, 0.0577, 0.455, 0.182, 0.171),
    ("Wk", 8, 0.0814, 0.543, 0.257, 0.228),
    ("Wk", 16, 0.115, 0.648, 0.363, 0.289),
    ("Wk", 0, 0.362, 1.15, 0.364, 0.363),
)  # fmt: skip
"""Table 8: weighting, cycles in a burst (0: no end), r.m.s., dose, MTVV linear and exponential [m/s², m/s^1.75]."""


def saw_tooth(cycles: int, rate_hz: float) -> np.ndarray:
    """Table 6: 100 rad/s, 1 m/s², rising ramp and vertical fall, from an upward zero crossing; bursts at 1 s, 11 s, …
    over 60 s; without end from 0 on."""
    time, frequency_hz = np.arange(0, 60, 1 / rate_hz), 100 / (2 * np.pi)
    since = time if cycles == 0 else np.mod(time - 1.0, 10.0)
    tooth = 2 * (np.mod(since * frequency_hz + 0.5, 1) - 0.5)
    return tooth if cycles == 0 else np.where((since < cycles / frequency_hz) & (time >= 1.0), tooth, 0.0)


def exponential_rms(values: np.ndarray, rate_hz: float) -> np.ndarray:
    """Exponential running r.m.s. of a time constant of 1 s from rest, the last column of the table."""
    kept = np.exp(-1 / rate_hz)
    return np.sqrt(lfilter([1 - kept], [1, -kept], values**2))


@pytest.mark.parametrize(("name", "cycles", "rms", "dose", "linear", "exponential"), BURSTS)
def test_saw_tooth_bursts(name, cycles, rms, dose, linear, exponential):
    """Permitted: 10 %, dose 12 %. Three printed figures and a fall between two samples leave 1 %, for Wd 1.5 %."""
    rate_hz = 16000.0
    weighted = weigh(saw_tooth(cycles, rate_hz), name, rate_hz=rate_hz)
    reached = (
        np.sqrt(np.mean(weighted**2)), vibration_dose(weighted, rate_hz), running_rms(weighted, rate_hz).max(),
        exponential_rms(weighted, rate_hz).max(),
    )  # fmt: skip
    np.testing.assert_allclose(reached, (rms, dose, linear, exponential), rtol=0.015 if name == "Wd" else 0.01)


@pytest.mark.parametrize(("rate_hz", "honest_hz"), [(100.0, 40.0), (200.0, 80.0), (400.0, 80.0)])
def test_weighting_holds_to_the_sensors_band_where_a_bilinear_filter_does_not(rate_hz, honest_hz):
    """A plain bilinear Wk is honest (0.5 dB) to 12.6 Hz at a rate of 100 Hz, 25 Hz at 200, 40 Hz at 400."""
    for frequency_hz in 10 ** (np.arange(0, 20) / 10):
        if frequency_hz > honest_hz:
            continue
        time = np.arange(0, 60, 1 / rate_hz)
        weighted = weigh(np.sin(2 * np.pi * frequency_hz * time), "Wk", rate_hz=rate_hz)[int(20 * rate_hz) :]
        factor = np.sqrt(2 * np.mean(weighted[: int(30 * rate_hz)] ** 2))
        assert 20 * np.log10(factor / abs(respond("Wk", np.array([frequency_hz]))[0])) == pytest.approx(0, abs=0.1)
