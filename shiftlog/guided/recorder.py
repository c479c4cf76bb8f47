"""Which accelerometer a test listens to, and what to fit where none will do."""

from collections.abc import Sequence

from shiftlog.model.drive import Signals
from shiftlog.model.trace import Trace


def find_accel(signals: Signals, *, places: Sequence[str], least_hz: float) -> Trace | str:
    """The first of the places whose recorder is fast enough, or why there is none and what to do."""
    heard = [signals.accel[place] for place in places if place in signals.accel]
    quick = [trace for trace in heard if trace.rate_hz >= least_hz]
    if quick:
        return quick[0]
    if not heard:
        named = " or ".join(f"the {place}" for place in places)
        return f"no accelerometer at {named}; screw one to the casing, {least_hz:.0f} values a second or faster"
    best = max(heard, key=lambda trace: trace.rate_hz)
    return (
        f"the recorder at the {best.place} writes {best.rate_hz:.0f} values a second; {least_hz:.0f} are needed: set "
        "it faster, or screw a faster one to the casing"
    )
