"""The demo's six drives: an invented hatchback before and after a repair of its shift linkage and third gear."""

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path

import numpy as np

from shiftlog.synth.cars import CARS, SynthCar
from shiftlog.synth.health import Health, draw_health
from shiftlog.synth.manner import Mix
from shiftlog.synth.programme import Act
from shiftlog.synth.recorder import Sensors
from shiftlog.synth.rest_motion import Spring
from shiftlog.synth.scenario import SynthDrive, make_drive
from shiftlog.synth.standing_tests import press_home, release_from_both_sides

SEED = 20261003
CABLES = {"end": "turn", "engage_mm_per_turn": 1.25, "engage_range_mm": [-4.0, 4.0]}
CAR: SynthCar = replace(CARS["hatch5"], car=replace(CARS["hatch5"].car, cables=CABLES))
DRIVES = (
    ("before-1", "before", "2026-10-03T09:40:00+01:00", 64.0),
    ("before-2", "before", "2026-10-03T11:15:00+01:00", 71.0),
    ("before-3", "before", "2026-10-05T10:05:00+01:00", 58.0),
    ("after-1", "after", "2026-10-09T09:50:00+01:00", 62.0),
    ("after-2", "after", "2026-10-09T11:20:00+01:00", 73.0),
    ("after-3", "after", "2026-10-10T10:10:00+01:00", 60.0),
)
"""Name, stage, when it began and the gearbox temperature read off before it [°C]."""

MIX = Mix(up=9.0, down=7.0, skip=0.6, row=0.4, miss=0.08, wrong=0.12, back=0.2, coast=1.6, stop=1.0, jump=0.0)
SENSORS = Sensors(lever_turn_deg=2.5, lever_mirror=(1, -1), bus_rate_hz=25.0)
MINUTES = 7.0
RELEASES: Act = partial(release_from_both_sides, each=5)
CLEARANCE_MM = {
    "before": {"1": 0.6, "2": 2.7, "3": 0.5, "4": 2.9, "5": 0.7, "R": 2.6},
    "after": {"1": 1.9, "2": 1.4, "3": 1.8, "4": 1.6, "5": 1.9, "R": 1.3},
}
"""Room before the stop in each gear, before and after one turn of the engage cable [mm]."""

WITH_CLEARANCE = ("before-1", "after-1")


def make_demo(folder: Path, progress: Callable[[str], None] | None = None) -> list[Path]:
    """Write the six demo drives into ``folder``, the same every time. Returns the drive folders, before first.

    progress : told one line for each drive, or None
    """
    written = []
    for index, (name, stage, started, temp_c) in enumerate(DRIVES):
        if progress:
            progress(f"making drive {index + 1} of {len(DRIVES)}: {name}")
        pressed = (partial(press_home, clearance_mm=CLEARANCE_MM[stage]),) if name in WITH_CLEARANCE else ()
        drive = make_demo_drive(stage, seed=SEED + index, minutes=MINUTES, first=(RELEASES, *pressed))
        head = {"stage": stage, "driver": "Tomas", "gearbox_temp_c": temp_c, "started": started}
        written.append(drive.write(folder / name, **head))
    return written


def make_demo_drive(stage: str, *, seed: int, minutes: float, first: tuple[Act, ...] = ()) -> SynthDrive:
    """One drive of the demo's car, ``before`` or ``after`` the repair."""
    health = before_repair() if stage == "before" else after_repair()
    return make_drive(
        car=CAR,
        seed=seed,
        health=health,
        road="smooth",
        sensors=SENSORS,
        minutes=minutes,
        mix=MIX,
        first=first,
    )


def before_repair() -> Health:
    """The lever rests in the 1-2 plane, and third clashes and has to be pushed twice; all else is as after."""
    after = after_repair()
    worn = {way: 2.2 * slope for way, slope in after.synchro["3"].items()}
    return replace(
        after,
        name="before the repair",
        synchro={**after.synchro, "3": worn},
        spring=Spring(centre_mm=-21.5, frequency_hz=3.1, damping=0.25, friction_mm=6.0),
        gear_trouble={"3": 12.0},
        grinds=("3",),
    )


def after_repair() -> Health:
    """The lever runs home, and third goes in like the others; mounts and bushes are a few years old."""
    return replace(
        draw_health("healthy", CAR, np.random.default_rng(SEED)),
        name="after the repair",
        spring=Spring(centre_mm=0.3, frequency_hz=4.2, damping=0.45, friction_mm=0.9),
        rock_mm=1.0,
        shake_mm=0.12,
        baulk_share=0.2,
        refuse_share=0.025,
        knock_mps2=10.0,
        guided_share=0.15,
    )
