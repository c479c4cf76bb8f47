"""Times of a shift from its instants, and how hard the hand was."""

import numpy as np

from shiftlog.measure.needs import RATE_SLACK, SLOWEST_LEVER_HZ
from shiftlog.measure.scene import Scene
from shiftlog.model.car import NEUTRAL
from shiftlog.model.reading import Reading, measured, unmeasured
from shiftlog.model.shift import Shift
from shiftlog.signal.robust import robust_sigma

PEAK_SHARE = 0.07
"""A peak that lasts about as long as the 20 ms over which speed is read is known to this share (on drives with known
truth; no source)."""


_KEYS = ("shift_time_s", "neutral_time_s", "baulk_time_s", "approach_speed_mmps")


def measure_timing(shift: Shift, scene: Scene) -> tuple[Reading, ...]:
    """Shift, neutral and baulk time and approach speed of a shift the lever shows; nothing for others."""
    if shift.seen_by != "lever":
        return ()
    slow = _too_slow(scene)
    if slow:
        return tuple(unmeasured(key, _why_no_time(shift) or slow) for key in _KEYS)
    return (
        _between(shift, "shift_time_s", "start_s", "end_s"),
        _between(shift, "neutral_time_s", "out_s", "in_s"),
        _baulk_time(shift, scene),
        _approach_speed(shift, scene),
    )


def _too_slow(scene: Scene) -> str | None:
    lever = scene.signals.lever
    if lever is None or lever.rate_hz >= RATE_SLACK * SLOWEST_LEVER_HZ:
        return None
    return f"the lever was read {lever.rate_hz:.3g} times a second, too slow for times; log it at 100 Hz or faster"


def _why_no_time(shift: Shift) -> str | None:
    if shift.to_gear == NEUTRAL:
        return "the lever went to neutral and stayed there; a time needs a gear at both ends"
    if shift.outcome == "missed":
        return "the gear refused and the lever went back; there is no time to reach it"
    return None


def _between(shift: Shift, key: str, first: str, second: str) -> Reading:
    why = _why_no_time(shift)
    if why:
        return unmeasured(key, why)
    begin, end = getattr(shift, first), getattr(shift, second)
    if begin is None or end is None:
        return unmeasured(key, "the shift began in neutral; this time needs a gear left")
    value = end - begin
    u = float(np.hypot(shift.instant_u_s.get(first, 0.0), shift.instant_u_s.get(second, 0.0)))
    return measured(key, value, uncertainty=u)


def _baulk_time(shift: Shift, scene: Scene) -> Reading:
    """Each end of each stand is known to the time over which speed is read; a stand shorter than that is not seen."""
    if shift.to_gear == NEUTRAL:
        return unmeasured("baulk_time_s", "no gear was tried")
    blurred_s = float(np.hypot(scene.settings.fast_window_s, 1 / scene.path.rate_hz)) if scene.path else 0.0
    u = blurred_s * np.sqrt(len(shift.baulk)) if shift.baulk else blurred_s / np.sqrt(3)
    return measured(
        "baulk_time_s", float(sum(end - start for start, end in shift.baulk)), uncertainty=float(u), least=0.0
    )


def _approach_speed(shift: Shift, scene: Scene) -> Reading:
    key = "approach_speed_mmps"
    path = scene.path
    if path is None or shift.entered_s is None or shift.end_s is None:
        return unmeasured(key, _why_no_time(shift) or "no gear was entered")
    low = scene.settings.baulk_low
    first, last = path.index(shift.entered_s), path.index(shift.end_s)
    deeper = np.flatnonzero(path.depth[first:last] > low)
    stop = first + int(deeper[0]) if deeper.size else last
    side = np.sign(path.engage_mm[last])
    # Back from depth 0.1 to the neutral line the lever has just left.
    line = np.flatnonzero(path.engage_mm[:first] * side <= 0)
    begin = max(int(line[-1]) if line.size else first, first - int(0.3 * path.rate_hz))
    speed = path.engage_mmps[begin : stop + 1] * side
    if speed.size < 2:
        return unmeasured(key, "the lever log is too slow to show the way from neutral to depth 0.3")
    peak = float(speed.max())
    noise = float(robust_sigma(path.engage_mmps[(path.still_mmps < scene.settings.still_mmps) & path.valid]))
    return measured(key, peak, uncertainty=float(np.hypot(noise, PEAK_SHARE * peak)), least=0.0)
