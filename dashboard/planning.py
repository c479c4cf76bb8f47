"""From files and what was said of them to a plan, and to what the drive would be worth."""

import re
import shutil
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from dashboard.answer_options import faults_of_fields, is_trace, options_of, restarts_of
from dashboard.beside import ENDINGS, find_decoding, find_profile, say_uses, say_uses_in_drive
from dashboard.incoming import Answers
from shiftlog.errors import LogError, RestartedLog, ShiftlogError, UnclearLog
from shiftlog.ingest.add import AddPlan, plan_drive, write_drive
from shiftlog.ingest.drive_file import DRIVE_FILE
from shiftlog.ingest.formats.known import open_sheet
from shiftlog.measure.capability import PROFILE, Able, judge_drive
from shiftlog.model.drive import Drive, DriveHead
from shiftlog.model.recording import ACCEL, GYRO, LEVER
from shiftlog.model.result import RecordingReport, Unable
from shiftlog.units import as_percent

UNDERSTOOD, UNCLEAR, LEFT_OUT = "understood", "unclear", "left out"

NO_CAR = "no car's profile is chosen"

_ALLOW_RESTART = " Split the file there, or say below that its clock may start anew."
_ALLOW_IN_FILE = f" Split the file there, or write allow_restart = true under its [[recording]] in {DRIVE_FILE}."
_ADD_DECODING = " Add what describes its frames to the files: a DBC, or a TOML with [[signal]] entries."

Say = Callable[[str], None]


@dataclass(frozen=True, eq=False, kw_only=True)
class FileSaid:
    """What became of one file.

    state : UNDERSTOOD, UNCLEAR or LEFT_OUT; lines : what was concluded; why : what stands in its way, or None
    headers : its columns, empty where they cannot be told; place : where its recorder is taken to have sat, or None
    lever : whether it holds a lever sensor; moves : a motion sensor; restarted : whether its time starts
        anew on the way
    """

    name: str
    state: str
    lines: tuple[str, ...] = ()
    why: str | None = None
    headers: tuple[str, ...] = ()
    place: str | None = None
    lever: bool = False
    moves: bool = False
    restarted: bool = False


@dataclass(frozen=True, eq=False, kw_only=True)
class _Fault:
    """Why a log is not in the plan."""

    state: str
    why: str
    restarted: bool = False


@dataclass(frozen=True, eq=False, kw_only=True)
class Reading:
    """Files as they were understood, and the drive they make.

    plan : None for a drive folder that is one already; given : that folder; answers : what was said when it was read
    reports, can, cannot : as for a drive of the workshop, empty where no log is usable yet
    fault : what keeps the whole from being a drive, or None; without_car : whether no car's profile was chosen
    beside : name and use of each file that is no log; of all files of a folder that is a drive already
    """

    answers: Answers
    files: tuple[FileSaid, ...] = ()
    beside: tuple[tuple[str, str], ...] = ()
    plan: AddPlan | None = None
    given: Path | None = None
    car: str | None = None
    name: str = ""
    reports: tuple[RecordingReport, ...] = ()
    can: tuple[Able, ...] = ()
    cannot: tuple[Unable, ...] = ()
    notes: tuple[str, ...] = ()
    fault: str | None = None
    without_car: bool = False

    @property
    def ready(self) -> bool:
        """Whether it can be added: something is usable, and nothing is left to be asked."""
        return self.fault is None and bool(self.reports) and all(f.state != UNCLEAR for f in self.files)


def read_files(
    files: Sequence[Path],
    answers: Answers,
    *,
    car: Path | None,
    scratch: Path,
    load: Callable[[Path, Say], Drive],
    say: Say,
) -> Reading:
    """Reads the files, lays their recordings on one clock and judges them; writes into ``scratch`` only.

    car : the profile chosen, or None for the one among the files, if any; load : a drive folder to a Drive
    """
    given = next((f.parent for f in files if f.name == DRIVE_FILE), None)
    try:
        if given is not None:
            beside = say_uses_in_drive(files, given)
            return _judged(Reading(answers=answers, given=given, beside=beside), load(given, say))
        return _read_logs(files, answers, car=car or find_profile(files), scratch=scratch, load=load, say=say)
    except ShiftlogError as error:
        return Reading(answers=answers, given=given, fault=page_words(str(error)))


def head_of(answers: Answers, logs: Sequence[Path]) -> DriveHead:
    """What is known of the drive; without a name it gets that of its first log."""
    name = answers.name.strip() or (logs[0].stem if logs else "drive")
    return DriveHead(id=name, stage=answers.stage.strip() or None, driver=answers.driver.strip() or None)


def page_words(text: str) -> str:
    """A line of the command line without the options it names: the page has fields for them."""
    clauses = re.split(r"(?<=[.;])\s+", text)
    kept = [clause for clause in clauses if "--" not in clause]
    said = " ".join(kept).rstrip("; ")
    return said if said.endswith((".", "!", "?")) or not said else f"{said}."


def _read_logs(files: Sequence[Path], answers: Answers, *, car: Path | None, scratch: Path, load, say: Say) -> Reading:
    logs = [f for f in files if f.suffix.lower() not in ENDINGS]
    if not logs:
        return Reading(answers=answers, fault="There is no log among these files.")
    decode = find_decoding(files)
    plan, faults = _plan(logs, answers, car=car, decode=decode, say=say)
    said = tuple(_file_said(log, plan, faults, decode=decode) for log in logs)
    beside = say_uses(files, logs, car=car, decode=decode)
    reading = Reading(answers=answers, files=said, beside=beside, plan=plan, without_car=car is None)
    if plan is None:
        return reading
    shutil.rmtree(scratch, ignore_errors=True)
    say("judging the logs")
    return _judged(reading, load(write_drive(plan, scratch), say))


def _plan(
    logs: Sequence[Path], answers: Answers, *, car: Path | None, decode: Path | None, say: Say
) -> tuple[AddPlan | None, dict[str, _Fault]]:
    """The plan of all logs that can be understood, and what stands in the way of each of the others.

    A log that leaves two readings is set aside, and the rest is planned without it.
    """
    faults = {name: _Fault(state=UNCLEAR, why=why) for name, why in faults_of_fields(logs, answers).items()}
    waiting = [log for log in logs if log.name not in faults]
    while waiting:
        try:
            plan = plan_drive(
                waiting, car, head=head_of(answers, logs), options=options_of(waiting, answers, decode),
                restarts=restarts_of(answers),
                progress=lambda name, share: say(f"reading {name} ({as_percent(share)} done)" if name else "reading"),
            )  # fmt: skip
            return plan, faults | {
                left.file: _Fault(state=LEFT_OUT, why=left.why, restarted=left.restarted) for left in plan.left_out
            }
        except LogError as error:
            fault = _fault(error)
            at_fault = [log for log in waiting if str(error).startswith(log.name)]
            if not at_fault or (len(waiting) > 1 and fault.state != UNCLEAR):
                return None, faults | _each_fault(waiting, answers, decode)
            faults[at_fault[0].name] = fault
            waiting.remove(at_fault[0])
    return None, faults


def _each_fault(logs: Sequence[Path], answers: Answers, decode: Path | None) -> dict[str, _Fault]:
    """Why each of some logs, none of which can be used, is left out."""
    faults = {}
    for log in logs:
        try:
            plan_drive([log], None, options=options_of([log], answers, decode), restarts=restarts_of(answers))
        except LogError as error:
            faults[log.name] = _fault(error)
    return faults


def _fault(error: LogError) -> _Fault:
    state = UNCLEAR if isinstance(error, UnclearLog) else LEFT_OUT
    return _Fault(state=state, why=str(error), restarted=isinstance(error, RestartedLog))


def _file_said(log: Path, plan: AddPlan | None, faults: dict[str, _Fault], *, decode: Path | None) -> FileSaid:
    headers = _headers(log, decode)
    if log.name in faults:
        return _fault_said(log, faults[log.name], headers, undecoded=decode is None and is_trace(log))
    planned = next((r for r in plan.recordings if r.log == log), None) if plan else None
    lines = [line.removeprefix(f"{log.name}: ") for line in (plan.lines if plan else ()) if line.startswith(log.name)]
    shown = tuple(text[:1].upper() + text[1:] for line in lines if (text := page_words(line)))
    channels = set(planned.channels) if planned else set()
    return FileSaid(
        name=log.name, state=UNDERSTOOD, lines=shown, headers=headers, place=planned.place if planned else None,
        lever=bool(channels & set(LEVER)), moves=bool(channels & {*ACCEL, *GYRO}),
        restarted=planned is not None and planned.allow_restart,
    )  # fmt: skip


def _fault_said(log: Path, fault: _Fault, headers: tuple[str, ...], *, undecoded: bool) -> FileSaid:
    """Why a log cannot be used as it is; undecoded : whether a description of its frames would make it readable."""
    mend = _ADD_DECODING if undecoded else _ALLOW_RESTART if fault.restarted else ""
    why = page_words(fault.why) + mend
    return FileSaid(name=log.name, state=fault.state, why=why, headers=headers, moves=True, restarted=fault.restarted)


def _judged(reading: Reading, drive: Drive) -> Reading:
    worth = judge_drive(drive.placed, car=drive.car)
    reports, cannot = worth.reports, worth.cannot
    if reading.without_car:
        reports = tuple(replace(r, cannot_measure=_without_car(r.cannot_measure)) for r in reports)
        cannot = _without_car(cannot)
    left = [page_words(left.why) + (_ALLOW_IN_FILE if left.restarted else "") for left in drive.left_out]
    notes = [
        note for note in drive.notes if not (reading.without_car and note.startswith(f"{DRIVE_FILE}: names no car"))
    ]
    return replace(
        reading,
        car=drive.car.name,
        name=drive.head.id,
        reports=reports,
        can=worth.can,
        cannot=cannot,
        notes=(*left, *notes),
    )


def _without_car(cannot: Sequence[Unable]) -> tuple[Unable, ...]:
    """What a profile keeps away, where none was chosen."""
    return tuple(replace(u, why=NO_CAR, mend=None) if u.kind == PROFILE else u for u in cannot)


def _headers(log: Path, decode: Path | None) -> tuple[str, ...]:
    try:
        sheet = open_sheet(log, file=log.name, decode=decode if is_trace(log) else None)
        return tuple(header for header in sheet.header if header)
    except LogError:
        return ()
