"""What ``add`` is going to write: the recordings of a drive, and its ``drive.toml``."""

from dataclasses import dataclass
from pathlib import Path

from shiftlog.ingest.columns import ColumnWish
from shiftlog.ingest.drive_file import DRIVE_FILE
from shiftlog.ingest.toml_text import toml_table
from shiftlog.model.drive import DriveHead, LeftOut

CAR_FILE = "car.toml"


@dataclass(frozen=True, eq=False, kw_only=True)
class PlannedRecording:
    """One log of the plan: where it is, what it will be called, and what ``drive.toml`` will say of it.

    channels : what it was understood to hold
    allow_restart : whether its time starts anew on the way, and that was allowed
    """

    log: Path
    name: str
    file: str
    place: str
    clock: str | None
    wishes: tuple[ColumnWish, ...]
    clock_offset_s: float | None = None
    mounting: tuple[tuple[float, ...], ...] | None = None
    decode: Path | None = None
    channels: tuple[str, ...] = ()
    allow_restart: bool = False


@dataclass(frozen=True, eq=False, kw_only=True)
class AddPlan:
    """What will be written, and the lines that say what was understood and what was left."""

    head: DriveHead
    recordings: tuple[PlannedRecording, ...]
    car: Path | None
    lines: tuple[str, ...]
    left_out: tuple[LeftOut, ...] = ()


def free_name(name: str, taken: list[str]) -> str:
    """The name, or the first of ``name-2``, ``name-3`` … that is not taken."""
    names = [name, *(f"{name}-{number}" for number in range(2, len(taken) + 3))]
    return next(n for n in names if n not in taken)


def decode_names(plan: AddPlan) -> dict[Path, str]:
    """For each file that says how to decode frames, its name in the drive folder."""
    taken = [planned.file for planned in plan.recordings] + [CAR_FILE, DRIVE_FILE]
    names: dict[Path, str] = {}
    for planned in plan.recordings:
        if planned.decode is not None and planned.decode not in names:
            stems = [Path(name).stem for name in taken if Path(name).suffix == planned.decode.suffix]
            names[planned.decode] = free_name(planned.decode.stem, stems) + planned.decode.suffix
            taken.append(names[planned.decode])
    return names


def drive_text(plan: AddPlan) -> str:
    """``drive.toml`` of a plan."""
    head = plan.head
    drive = {
        "id": head.id or None,
        "started": head.started,
        "stage": head.stage,
        "driver": head.driver,
        "gearbox_temp_c": head.gearbox_temp_c,
        "cold": head.cold,
        "notes": head.notes,
    }
    parts = ["format = 1\n", toml_table("[drive]", drive)]
    if plan.car is not None:
        parts.append(toml_table("[car]", {"profile": CAR_FILE}))
    decoders = decode_names(plan)
    for planned in plan.recordings:
        parts.append(toml_table("[[recording]]", _entry(planned, decoders)))
        if planned.wishes:
            columns = {w.channel: _column_entry(w) for w in planned.wishes}
            parts.append(toml_table("[recording.columns]", columns))
    return "\n".join(parts)


def _entry(planned: PlannedRecording, decoders: dict[Path, str]) -> dict[str, object]:
    return {
        "name": planned.name,
        "file": planned.file,
        "place": planned.place,
        "clock": planned.clock,
        "clock_offset_s": planned.clock_offset_s,
        "mounting": planned.mounting,
        "decode": None if planned.decode is None else decoders[planned.decode],
        "allow_restart": planned.allow_restart or None,
    }


def _column_entry(wish: ColumnWish) -> dict[str, object]:
    entry = {"column": wish.column, "unit": wish.unit, "grows": wish.grows}
    return {key: value for key, value in entry.items() if value is not None}
