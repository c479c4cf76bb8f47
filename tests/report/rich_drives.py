"""Drives that hold every figure of every test, and every reason why one is missing."""

from dataclasses import replace

from shiftlog.guided.clutch_states import STATES
from shiftlog.guided.engine_on_off import IDLING, OFF
from shiftlog.guided.entries import LEFT, RIGHT, STRAIGHT
from shiftlog.guided.temperature import COLD, HOT, SOAKED
from shiftlog.guided.torque_spans import DRIVE, OVERRUN
from shiftlog.measure.catalogue import MEASURES
from shiftlog.measure.share import share_of
from shiftlog.model.drive import ClockMatch, MarkedTest, Mounting
from shiftlog.model.guided import Figure, GuidedResult
from shiftlog.model.reading import measured, unmeasured
from shiftlog.model.recording import Quality
from shiftlog.model.result import RecordingReport, SynchroRow
from shiftlog.report.content import DriveUsed

from .conftest import a_rest, a_shift

GROUPS = {
    "straight_push": ("", "left", "right"), "release": ("", "left"), "lockout": ("",), "spin_down": (OFF, IDLING),
    "bearing_noise": tuple(f"{state}, 20 to 100 Hz" for state in STATES),
    "gate_entry": tuple(f"3 {way}" for way in (LEFT, RIGHT, STRAIGHT)),
    "jump_out": tuple(f"3 {way}" for way in (DRIVE, OVERRUN)),
    "warm_up": tuple(f"2-3 {state}" for state in (COLD, "between", HOT, SOAKED, "not known")),
    "synchroniser": ("3 up", "3 down cold"), "two_ended": ("engage", "select"),
}  # fmt: skip
"""What the figures of each kind of test are of; a gear in all others."""


def report_of(place, name, *, can=(), cannot=(), rate_hz=200.0, offset_s=0.0):
    quality = Quality(rate_hz=rate_hz, jitter_s=0.0, samples=100, duration_s=10.0)
    clock = ClockMatch(offset_s=offset_s, drift_ppm=0.0, how="matched", confidence=0.95)
    return RecordingReport(
        name=name, place=place, quality=quality, clock=clock, mounting=Mounting(rotation=None, how="unknown"),
        can_measure=can, cannot_measure=cannot,
    )  # fmt: skip


def told_shift(number, *, temp_c=None, mmps=200.0, outcome="clean", why="the gearbox was not heard here", **more):
    shift = a_shift(number, outcome=outcome, grind=None, **{k: v for k, v in more.items() if k in ("gears", "time_s")})
    readings = dict(shift.readings) | {
        "approach_speed_mmps": measured("approach_speed_mmps", mmps), "grind": unmeasured("grind", why),
        "knock_peak_mps2": measured("knock_peak_mps2", 12.0 + number),
        "baulk_time_s": measured("baulk_time_s", 0.1 + 0.001 * number),
    }  # fmt: skip
    if temp_c is not None:
        readings["gearbox_temp_c"] = measured("gearbox_temp_c", temp_c)
    extra = {k: v for k, v in more.items() if k in ("paused", "double_declutched", "standing", "via")}
    return replace(shift, readings=readings, **extra)


def guided_tests():
    """Every figure of a test that a comparison has a row of, once as measured and once as it could not be."""
    found = []
    for kind in sorted({m.test for m in MEASURES.values() if m.test}):
        mine = [m for m in MEASURES.values() if m.test == kind]
        figures = [a_figure(measure, of) for measure in mine for of in GROUPS.get(kind, ("3", "4"))]
        lost = [Figure(key=m.figure, label=m.label, of="R", why="too few tries in reverse") for m in mine]
        found.append(
            GuidedResult(kind=kind, start_s=1.0, end_s=9.0, configuration=None, says=(), figures=(*figures, *lost))
        )
    return found


def a_figure(measure, of):
    if measure.key.endswith("_share"):
        return Figure(key=measure.figure, label=measure.label, of=of, share=share_of(3, 5))
    return Figure(key=measure.figure, label=measure.label, of=of, unit=measure.unit, value=1.5, uncertainty=0.1)


def rich_drive(make_result, name, mark, *, driver, place, mmps, temp_c, rate_hz=1600.0, cold=None, tested=True):
    """A drive with everything that is counted, left out or doubted."""
    outcomes = ("clean", "second_push", "missed", "wrong_gear", "out_and_back", "jumped_out", "to_neutral")
    shifts = [told_shift(n, mmps=mmps, temp_c=temp_c + n, time_s=0.4 + 0.003 * n) for n in range(1, 9)]
    shifts += [told_shift(10 + n, outcome=o, mmps=mmps, temp_c=temp_c) for n, o in enumerate(outcomes)]
    shifts += [
        told_shift(30 + n, mmps=mmps, temp_c=temp_c, **{how: True})
        for n, how in enumerate(("paused", "double_declutched", "standing"))
    ]
    shifts += [told_shift(40, gears=(None, None), mmps=mmps), told_shift(41, gears=("3", "4"), via=("N",), mmps=mmps)]
    rests = [a_rest("3-4"), a_rest("1-2"), a_rest("3-4", in_bend=True), a_rest("3-4", released=None), a_rest("1-2")]
    let_go = [replace(a_rest(plane, released=None), start_s=500.0, end_s=501.0) for plane in ("1-2", "3-4", "3-4")]
    made = make_result(name, shifts=shifts, rests=rests + let_go, mark=mark, cold=cold, guided=guided_tests())
    marked = (MarkedTest(kind="release", start_s=499.0, end_s=510.0),) if tested else ()
    slopes = [
        SynchroRow(gear="3", direction=way, band=band, side="hub", n=6, shifts=(1, 2), reading="reads well",
                   slope_ms_per_krpm=40.0)
        for way in ("up", "down") for band in ("cold", "between", "hot", "not known")
    ]  # fmt: skip
    recordings = (
        report_of(place, f"{place}box", can=("knock",), rate_hz=rate_hz), report_of("body", "phone", offset_s=None),
    )  # fmt: skip
    return DriveUsed(
        id=f"id-{name}",
        result=replace(
            made, head=replace(made.head, driver=driver), recordings=recordings, tests=marked,
            settings=dict(made.settings) | {"depth_low": 0.1 + 0.1 * (mark in "def")},
            summary=replace(made.summary, synchro=tuple(slopes), hysteresis_mm=None,
                            unmeasured={"hysteresis_mm": "too few rests from one side"},
                            learnt_rpm_per_mps={"3": 100.0 + 6 * (mark in "def")}),
        ),
    )  # fmt: skip


def named(driver, k):
    """One name, or one for each drive."""
    return driver[k] if isinstance(driver, tuple) else driver
