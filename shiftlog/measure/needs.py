"""What each family of figures needs of the logs, and what to fit where it is missing."""

import math
from dataclasses import dataclass

from shiftlog.model.recording import ACCEL, BODY_PLACES, GYRO, LEVER

SLOWEST_ENGINE_S = 0.25
"""A shift is over in 0.3 to 1 s: an engine speed that is new less often gives no duration and no over-rev."""

SENSOR_WORDS = ((ACCEL, "accelerometer"), (GYRO, "gyro"), (LEVER, "lever sensor"))
"""What to call channels that come together."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Partner:
    """Channels that must stand in one recording of the drive, at one of these places (empty: anywhere).

    slowest_s : how long they may take between new values
    """

    channels: tuple[str, ...]
    words: str
    slowest_s: float = math.inf
    places: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False, kw_only=True)
class Way:
    """One way in which a recording can carry a family.

    channels : what it must hold, without : what it must not; places : where it may sit, empty for anywhere
    rate_hz : least rate; mounted : its axes must be known; also : of these partners one must be in the drive
    """

    channels: tuple[str, ...]
    rate_hz: float
    places: tuple[str, ...] = ()
    without: tuple[str, ...] = ()
    mounted: bool = False
    also: tuple[Partner, ...] = ()


@dataclass(frozen=True, eq=False, kw_only=True)
class Need:
    """A family of figures.

    lacks : what the drive lacks where no recording comes near; fit : what to fit then
    timed : where engine and vehicle speed alone tell of shifts, engine speed must be new often enough to time them
    gate, redline : the car's profile must have it
    """

    name: str
    ways: tuple[Way, ...]
    lacks: str
    fit: str
    gate: bool = False
    timed: bool = False
    redline: bool = False


BODY_MOTION = Partner(
    channels=(*ACCEL, *GYRO), places=BODY_PLACES, words="a second motion sensor with a gyro on the body"
)
_LEVER_SENSOR = Partner(channels=LEVER, words="a lever sensor")
LEVER_MOTION = Partner(channels=(*ACCEL, *GYRO), places=("lever",), words="a motion sensor on the lever")
_ENGINE_SPEED = Partner(channels=("engine_speed",), words="engine speed from the car")
_QUICK_ENGINE_SPEED = Partner(
    channels=("engine_speed",), slowest_s=SLOWEST_ENGINE_S, words="engine speed from the car, new four times a second"
)
_VEHICLE_SPEED = Partner(channels=("vehicle_speed",), words="vehicle speed from the car or a GPS receiver")

RATE_SLACK = 0.95
"""A recorder set to 200 Hz gives 195."""

SLOWEST_LEVER_HZ = 50.0
"""On drives with known truth times come out 2 ms long at 50 Hz, 15 ms at 20 Hz and 50 ms at 10 Hz: slower readings cut
the corners of a quick move."""

_NO_LEVER = "no lever sensor"
_FIT_LEVER = (
    "a lever sensor (two potentiometers or a joystick sensor), 100 Hz or faster; or motion sensors with a gyro on the "
    "lever and on the body, 200 Hz"
)
_BLOW = ("gearbox", "lever")
_ANY_LEVER = (_LEVER_SENSOR, LEVER_MOTION)
"""What tells the moment at which dogs or teeth meet."""


def _lever_ways(rate_hz: float) -> tuple[Way, ...]:
    """A sensor of its own, or a motion sensor on the lever against one on the body."""
    moved = Way(channels=(*ACCEL, *GYRO), places=("lever",), rate_hz=rate_hz, also=(BODY_MOTION,))
    return Way(channels=LEVER, rate_hz=rate_hz), moved


def _at_body(rate_hz: float) -> Way:
    return Way(channels=ACCEL, places=("body",), rate_hz=rate_hz, mounted=True)


def _fit_body(rate: str) -> str:
    return f"a phone or accelerometer fixed to the body, {rate} or faster"


_BUS = ("body", "engine")
DURATION = "duration of a shift"
"""Said where changes of gear are found from speeds that are new too seldom to time them."""

FIT_QUICK = f"a lever sensor, or log engine speed so that it is new every {SLOWEST_ENGINE_S:g} s or sooner"
_NO_BODY = "no accelerometer on the body"

NEEDS = (
    Need(
        name="shift, neutral and baulk times", ways=_lever_ways(SLOWEST_LEVER_HZ), gate=True, lacks=_NO_LEVER,
        fit=_FIT_LEVER,
    ),
    Need(name="neutral rest", ways=_lever_ways(20.0), gate=True, lacks=_NO_LEVER, fit=_FIT_LEVER),
    Need(
        name="gear changes from speeds", ways=(Way(channels=("engine_speed",), rate_hz=0.5, also=(_VEHICLE_SPEED,)),),
        lacks="no engine speed", fit="engine speed and vehicle speed from the car's bus or diagnostic plug",
    ),
    Need(
        name="shifts from acceleration alone", ways=(_at_body(25.0),), lacks=_NO_BODY, fit=_fit_body("25 Hz"),
    ),
    Need(
        name="over-rev", redline=True,
        ways=(
            Way(channels=("vehicle_speed",), rate_hz=0.5, also=(_LEVER_SENSOR, _QUICK_ENGINE_SPEED, LEVER_MOTION)),
        ),
        lacks="no vehicle speed", fit="vehicle speed from a GPS receiver or the car's bus",
    ),
    Need(
        name="drive gap", timed=True,
        ways=(_at_body(8.0), Way(channels=ACCEL[:1], without=ACCEL[1:], places=_BUS, rate_hz=8.0)),
        lacks=_NO_BODY, fit=_fit_body("25 Hz"),
    ),
    Need(
        name="knock", ways=(Way(channels=ACCEL, places=_BLOW, rate_hz=200.0, also=_ANY_LEVER),),
        lacks="no accelerometer at the gearbox or the lever",
        fit="an accelerometer on the gearbox, 200 Hz or faster, 1,600 Hz if it can be had",
    ),
    Need(
        name="grind", ways=(Way(channels=ACCEL, places=_BLOW, rate_hz=800.0, also=_ANY_LEVER),),
        lacks="no accelerometer at the gearbox or the lever",
        fit="an accelerometer on the gearbox, 800 Hz or faster: below that teeth that clash cannot be heard",
    ),
    Need(name="driveline clunk", ways=(_at_body(75.0),), lacks=_NO_BODY, fit=_fit_body("100 Hz")),
    Need(name="shuffle", ways=(_at_body(25.0),), lacks=_NO_BODY, fit=_fit_body("50 Hz")),
    Need(name="felt dose", ways=(_at_body(50.0),), lacks=_NO_BODY, fit=_fit_body("100 Hz")),
)  # fmt: skip
