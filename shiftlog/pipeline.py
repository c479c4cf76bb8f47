"""The whole chain, and the only module that knows it: logs → Drive → shifts, rests → readings → DriveResult."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from math import hypot, sqrt
from pathlib import Path

from shiftlog import __version__
from shiftlog.align.place import place_recordings
from shiftlog.align.signals import with_latencies
from shiftlog.align.still_speed import find_contradictions, still_speeds, without_speeds
from shiftlog.cables.clearance import measure_clearances
from shiftlog.cables.coupling import find_coupling
from shiftlog.cables.follow_up import follow_up, turnings_of
from shiftlog.cables.pool import pool_clearances
from shiftlog.cables.setting import advise
from shiftlog.detect.drivetrain import find_gear_changes
from shiftlog.detect.engine_steps import drives_through_gears
from shiftlog.detect.gap import locate_drive_gap, read_drive_gap
from shiftlog.detect.gate_beside import fit_gate
from shiftlog.detect.gates import describe_worth
from shiftlog.detect.lag import find_lag
from shiftlog.detect.learnt import check_profile, learn_from_lever
from shiftlog.detect.lever import build_path
from shiftlog.detect.phone_shifts import find_accel_shifts
from shiftlog.detect.rests import find_rests
from shiftlog.detect.shifts import find_lever_shifts
from shiftlog.detect.speeds import new_samples
from shiftlog.errors import CannotMeasure
from shiftlog.findings.find import find_findings
from shiftlog.guided.measure import measure_tests
from shiftlog.ingest.drive_file import read_drive
from shiftlog.measure.capability import report_recording
from shiftlog.measure.crash_through import add_shares
from shiftlog.measure.gearing import choose_ratios
from shiftlog.measure.neutral import measure_hysteresis, measure_rest, measure_share
from shiftlog.measure.scene import Scene
from shiftlog.measure.shifts import measure_shifts
from shiftlog.measure.speeds import measure_fastest
from shiftlog.measure.synchro import measure_synchro
from shiftlog.model.cables import CableAdvice, Clearance
from shiftlog.model.drive import Drive, Latency, Placed
from shiftlog.model.follow_up import FollowUp, Turning
from shiftlog.model.gate import GateMap
from shiftlog.model.lever import LeverPath
from shiftlog.model.reading import unmeasured
from shiftlog.model.rest import Rest
from shiftlog.model.result import DriveResult, InputFile, Summary
from shiftlog.model.settings import Settings
from shiftlog.model.share import Share
from shiftlog.model.shift import Rejected, Shift
from shiftlog.model.trace import Trace

Progress = Callable[[str], None]


@dataclass(frozen=True, eq=False, kw_only=True)
class Found:
    """What detecting gave, before anything is measured."""

    gate: GateMap | None
    gate_why: str | None
    path: LeverPath | None
    shifts: tuple[Shift, ...]
    rests: tuple[Rest, ...]
    rejected: tuple[Rejected, ...]
    learnt_rpm_per_mps: Mapping[str, float]
    notes: tuple[str, ...]


def load_drive(path: Path, *, allow_restart: bool = False, progress: Progress | None = None) -> Drive:
    """Read a drive folder and put its recordings on one clock."""
    say = progress or _silent
    logs = read_drive(
        path, allow_restart=allow_restart, progress=lambda name, _: say(f"reading {name}" if name else "")
    )
    drive = place_recordings(logs)
    contradicted = _contradicted_speeds(drive)
    return _with_engine_lag(place_recordings(without_speeds(logs, contradicted)) if contradicted else drive)


def measure_drive(drive: Drive, settings: Settings | None = None, progress: Progress | None = None) -> DriveResult:
    """Find and measure everything the drive's sensors support."""
    settings = settings or Settings()
    say = progress or _silent
    say("finding shifts")
    found = find_all(drive, settings)
    say(f"measuring {len(found.shifts)} shifts")
    scene = Scene(
        signals=drive.signals, car=drive.car, path=found.path, settings=settings,
        rpm_per_mps=choose_ratios(drive.car, found.learnt_rpm_per_mps), typed_temp_c=drive.head.gearbox_temp_c,
        shifts=found.shifts, rejected=found.rejected,
    )  # fmt: skip
    rests = tuple(measure_rest(r, scene) for r in found.rests)
    shifts = measure_shifts(scene)
    summary = replace(
        add_shares(_summarise(rests, found), shifts), synchro=measure_synchro(shifts, drive.car),
        fastest_mps=measure_fastest(drive.signals.vehicle_speed),
    )  # fmt: skip
    result = DriveResult(
        head=drive.head, car=drive.car.name, version=__version__, settings=asdict(settings),
        inputs=tuple(_input(p) for p in drive.placed), clock_recording=drive.clock_recording,
        clock_zero_s=drive.clock_zero_s, recordings=tuple(report_recording(p, drive.placed) for p in drive.placed),
        left_out=drive.left_out,
        gate=found.gate, gate_why=found.gate_why, shifts=shifts,
        rests=rests, rejected=found.rejected, summary=summary, tests=drive.tests,
        notes=drive.notes + found.notes,
    )  # fmt: skip
    return replace(result, findings=find_findings(result, drive.car), guided=measure_tests(scene, result))


def scene_of(drive: Drive, result: DriveResult, settings: Settings | None = None) -> Scene:
    """The scene a drive was measured in, for drawing: from its logs and what was found of it."""
    settings = settings or Settings()
    can_trace = result.gate is not None and drive.signals.lever is not None
    return Scene(
        signals=drive.signals, car=drive.car, path=trace_lever(drive, result.gate, settings) if can_trace else None,
        settings=settings, rpm_per_mps=choose_ratios(drive.car, result.summary.learnt_rpm_per_mps),
        typed_temp_c=drive.head.gearbox_temp_c, shifts=result.shifts, rejected=result.rejected,
    )  # fmt: skip


def advise_cables(drives: Sequence[Drive], settings: Settings | None = None) -> CableAdvice:
    """The best setting of the cables by the clearance tests of these drives, of one car and one fitting.

    CannotMeasure where no drive holds a clearance test that can be used.
    """
    clearances, gate, notes = _clear(drives, settings or Settings())
    return replace(advise(clearances, drives[-1].car, gate), notes=notes)


def clear_cables(drives: Sequence[Drive], settings: Settings | None = None) -> tuple[Clearance, ...]:
    """The clearances of the gears tried, also where they bound no setting. CannotMeasure as ``advise_cables``."""
    return _clear(drives, settings or Settings())[0]


def follow_cables(
    before: Sequence[Drive], after: Sequence[Drive], turnings: tuple[Turning, Turning] | None = None,
    settings: Settings | None = None,
) -> FollowUp:  # fmt: skip
    """What came of a change of the cables, by the clearance tests before and after it.

    turnings : what was done to the engage and the select cable, else the advice of before was followed to the letter.
    CannotMeasure where either side holds no clearance test that can be used, or nothing was changed.
    """
    settings, car = settings or Settings(), after[-1].car
    first, gate, notes = _clear(before, settings)
    then, _, more = _clear(after, settings)
    turnings = turnings or turnings_of(advise(first, before[-1].car, gate).advised, car)
    off_axis = find_coupling(before[-1].car)
    coupling = (off_axis.engage_per_select, off_axis.select_per_engage)
    found = follow_up(first, then, turnings, car, coupling=coupling, scale=gate.scale)
    return replace(found, notes=notes + more)


def _clear(drives: Sequence[Drive], settings: Settings) -> tuple[tuple[Clearance, ...], GateMap, tuple[str, ...]]:
    """(clearances of all tests together, the last drive's gate map, why drives were left out)."""
    found, gate, notes = [], None, []
    for drive in drives:
        try:
            gate = fit_gate(drive.signals, drive.car, drive.tests)
            path = trace_lever(drive, gate, settings)
            found.append(measure_clearances(path, gate, drive.tests, drive.signals.lever_force, drive.car))
        except CannotMeasure as why:
            notes.append(f"{drive.head.id}: {why}")
    if not found or gate is None:
        raise CannotMeasure("; ".join(notes))
    return pool_clearances(found), gate, tuple(notes)


def find_all(drive: Drive, settings: Settings) -> Found:
    """Shifts and rests from the lever where there is one, else from engine and vehicle speed."""
    try:
        gate = fit_gate(drive.signals, drive.car, drive.tests)
    except CannotMeasure as why:
        return _find_without_lever(drive, str(why), settings)
    return _find_with_lever(drive, gate, settings)


def trace_lever(drive: Drive, gate: GateMap, settings: Settings | None = None) -> LeverPath:
    """The lever's path in gate mm, for drawing. The drive must hold a lever."""
    assert drive.signals.lever is not None
    return build_path(drive.signals.lever, gate, settings or Settings())


def _find_with_lever(drive: Drive, gate: GateMap, settings: Settings) -> Found:
    path = trace_lever(drive, gate, settings)
    findings = find_lever_shifts(path, drive.signals, drive.car, settings)
    learnt = learn_from_lever(drive.signals, findings.shifts)
    return Found(
        gate=gate, gate_why=None, path=path, shifts=tuple(_with_gap(s, drive, settings) for s in findings.shifts),
        rests=find_rests(path, gate, drive.signals, findings.shifts, drive.tests, settings), rejected=findings.rejected,
        learnt_rpm_per_mps=learnt, notes=check_profile(learnt, drive.car) + describe_worth(gate),
    )  # fmt: skip


def _find_without_lever(drive: Drive, why: str, settings: Settings) -> Found:
    signals = drive.signals
    has_speeds = signals.engine_speed is not None and signals.vehicle_speed is not None
    can_feel = signals.accel_vehicle.get("body") is not None
    find = find_accel_shifts if can_feel and not has_speeds else find_gear_changes
    findings = find(signals, drive.car, settings)
    return Found(
        gate=None, gate_why=why, path=None, shifts=findings.shifts, rests=(), rejected=findings.rejected,
        learnt_rpm_per_mps=findings.learnt_rpm_per_mps, notes=findings.notes,
    )  # fmt: skip


def _with_gap(shift: Shift, drive: Drive, settings: Settings) -> Shift:
    """The lever's shift with the drive gap beside it, or the reason why there is none."""
    gap, why = _locate_gap(shift, drive, settings)
    reading = unmeasured("drive_gap_s", why) if gap is None else read_drive_gap(_gap_accel(drive), gap, settings)
    return replace(shift, gap=gap, readings={**shift.readings, reading.key: reading})


def _locate_gap(shift: Shift, drive: Drive, settings: Settings) -> tuple[tuple[float, float] | None, str]:
    body = _gap_accel(drive)
    if body is None:
        return None, drive.signals.accel_why.get("body", "no accelerometer at the body whose mounting is known")
    if shift.standing or shift.end_s is None:
        return None, "the car stood"
    try:
        return locate_drive_gap(body, (shift.start_s, shift.end_s), settings), ""
    except CannotMeasure as error:
        return None, str(error)


def _contradicted_speeds(drive: Drive) -> Mapping[str, str]:
    """What contradicts each vehicle speed that never changes, in words, by the recording's name."""
    found = find_contradictions(drive.placed)
    left = [p.recording.name for p in still_speeds(drive.placed) if p.recording.name not in found]
    if left and drives_through_gears(drive.signals, drive.car, drive.tests):
        return {**found, **dict.fromkeys(left, "lever and engine speed show")}
    return found


def _with_engine_lag(drive: Drive) -> Drive:
    """With the lag of vehicle speed against engine speed beside the recording of both, where it can be told."""
    engine, vehicle = drive.signals.engine_speed, drive.signals.vehicle_speed
    if engine is None or vehicle is None or engine.recording != vehicle.recording:
        return drive
    samples = new_samples(engine), new_samples(vehicle)
    lag = find_lag(*samples)
    if lag.uncertainty_s is None:
        return drive
    # A value that is new only now and then was measured at any moment since the last one (rectangular, JCGM 100).
    waiting = hypot(*(s.period_s for s in samples)) / sqrt(12)
    told = Latency(
        channel="vehicle_speed", against="engine_speed", lag_s=float(lag.lag_s),
        uncertainty_s=float(hypot(lag.uncertainty_s, waiting)),
    )  # fmt: skip
    placed = tuple(
        replace(p, latencies=(*p.latencies, told)) if p.recording.name == vehicle.recording else p for p in drive.placed
    )
    return replace(drive, placed=placed, signals=with_latencies(drive.signals, placed))


def _gap_accel(drive: Drive) -> Trace | None:
    """Acceleration that shows the drive gap: a sensor's at the body, else the car's own."""
    return drive.signals.accel_vehicle.get("body") or drive.signals.accel_forward


def _summarise(rests: tuple[Rest, ...], found: Found) -> Summary:
    if found.gate is None:
        why = {k: found.gate_why or "" for k in ("wrong_plane", "hysteresis_mm")}
        return Summary(learnt_rpm_per_mps=found.learnt_rpm_per_mps, unmeasured=why)
    share, hysteresis = measure_share(rests, found.gate.layout), measure_hysteresis(rests)
    reasons = {"wrong_plane": share, "hysteresis_mm": hysteresis.why}
    return Summary(
        wrong_plane=share if isinstance(share, Share) else None,
        hysteresis_mm=hysteresis.value,
        learnt_rpm_per_mps=found.learnt_rpm_per_mps,
        unmeasured={k: v for k, v in reasons.items() if isinstance(v, str)},
    )


def _input(placed: Placed) -> InputFile:
    recording = placed.recording
    return InputFile(file=recording.file, sha256=recording.sha256, size_bytes=recording.size_bytes)


def _silent(_: str) -> None:
    """Progress that nobody asked for."""
