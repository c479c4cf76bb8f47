"""What can and cannot be measured from one recording, and what to fit to measure the rest."""

from collections.abc import Sequence
from dataclasses import dataclass

from shiftlog.measure.catalogue import NOT_YET
from shiftlog.model.drive import Placed

ACCEL = ("accel_x", "accel_y", "accel_z")


@dataclass(frozen=True, eq=False, kw_only=True)
class Need:
    """What one family of figures needs of a recording.

    also : channels of which one set must stand somewhere in the drive; empty where nothing else is needed
    places : where the recorder may sit, empty for anywhere; rate_hz : least rate; mounted : axes must be known
    fit : what to fit where it is missing
    """

    name: str
    channels: tuple[str, ...]
    places: tuple[str, ...]
    rate_hz: float
    fit: str
    also: tuple[tuple[str, ...], ...] = ()
    mounted: bool = False
    measured: bool = True


NEEDS = (
    Need(
        name="shift, neutral and baulk times", channels=("select", "engage"), places=(), rate_hz=50.0,
        fit="a lever sensor (two potentiometers or a joystick sensor on the lever), 100 Hz or faster",
    ),
    Need(
        name="neutral rest", channels=("select", "engage"), places=(), rate_hz=20.0,
        fit="a lever sensor (two potentiometers or a joystick sensor on the lever), 100 Hz or faster",
    ),
    Need(
        name="gear changes from speeds", channels=("engine_speed",), places=(), rate_hz=0.5, also=(("vehicle_speed",),),
        fit="engine speed and vehicle speed from the car's bus or diagnostic plug",
    ),
    Need(
        name="over-rev", channels=("vehicle_speed",), places=(), rate_hz=0.5,
        also=(("select", "engage"), ("engine_speed",)),
        fit="vehicle speed from a GPS receiver or the car's bus",
    ),
    Need(
        name="drive gap", channels=ACCEL, places=("body",), rate_hz=20.0, mounted=True,
        fit="an accelerometer fixed to the body, its mounting declared in drive.toml",
    ),
    Need(
        name="knock", channels=ACCEL, places=("gearbox", "lever"), rate_hz=200.0,
        fit="an accelerometer on the gearbox, 200 Hz or faster, 1,600 Hz if it can be had",
    ),
    Need(
        name="grind", channels=ACCEL, places=("gearbox", "lever"), rate_hz=800.0, measured=False,
        fit="an accelerometer on the gearbox, 800 Hz or faster: below that teeth that clash cannot be heard",
    ),
    Need(
        name="driveline clunk", channels=ACCEL, places=("body",), rate_hz=75.0, mounted=True, measured=False,
        fit="an accelerometer fixed to the body, 100 Hz or faster, its mounting declared in drive.toml",
    ),
    Need(
        name="shuffle", channels=ACCEL, places=("body",), rate_hz=25.0, mounted=True, measured=False,
        fit="an accelerometer fixed to the body, 50 Hz or faster, its mounting declared in drive.toml",
    ),
    Need(
        name="felt dose", channels=ACCEL, places=("body",), rate_hz=100.0, mounted=True, measured=False,
        fit="an accelerometer fixed to the body, 100 Hz or faster, its mounting declared in drive.toml",
    ),
)  # fmt: skip


def judge_recording(placed: Placed, drive: Sequence[Placed]) -> tuple[tuple[str, ...], tuple[tuple[str, str], ...]]:
    """Families this recording can carry in its drive, and (family, why not and what to fit) for the rest."""
    there = {c.name for p in drive if p.on_drive_time for c in p.recording.channels}
    can, cannot = [], []
    for need in NEEDS:
        why = _why_not(placed, need, there)
        if why is None:
            can.append(need.name)
        else:
            cannot.append((need.name, why))
    return tuple(can), tuple(cannot)


def _why_not(placed: Placed, need: Need, there: set[str]) -> str | None:
    recording = placed.recording
    missing = [c for c in need.channels if not recording.has(c)]
    if missing:
        return f"no {', '.join(missing)} in this log; fit {need.fit}"
    if not placed.on_drive_time:
        return placed.clock.why or "it is not placed on the drive's clock"
    if need.also and not any(there.issuperset(names) for names in need.also):
        words = " or ".join(" and ".join(names) for names in need.also)
        return f"it takes {words} in the same drive as well"
    if need.places and recording.place not in need.places:
        return f"the recorder sits at the {recording.place}; fit {need.fit}"
    if recording.quality.rate_hz < 0.95 * need.rate_hz:
        return f"{recording.quality.rate_hz:.3g} Hz is too slow, {need.rate_hz:g} Hz is the least; fit {need.fit}"
    if need.mounted and placed.mounting.rotation is None:
        return "its mounting is not known: declare `mounting` for this recording in drive.toml"
    return None if need.measured else NOT_YET
