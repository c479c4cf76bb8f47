"""A drive's result as the JSON document that other tools read, and back."""

import json
from collections.abc import Mapping
from dataclasses import fields
from pathlib import Path
from typing import Any

from shiftlog.errors import StoreError
from shiftlog.model.car import GateLayout
from shiftlog.model.drive import DriveHead
from shiftlog.model.gate import GateMap
from shiftlog.model.recording import Quality
from shiftlog.model.rest import Rest
from shiftlog.model.result import DriveResult, InputFile, RecordingReport, Unable
from shiftlog.model.shift import Shift
from shiftlog.store.figures import figures_to_plain, plain_to_figures
from shiftlog.store.plain import Shape, from_plain, to_plain

FORMAT = 1
NO_LEVER = "seen in the drive itself; a lever time takes a lever sensor"
GEAR_NOT_KNOWN = "the log cannot tell which gear it was"
GEAR_NOT_FELT = (
    "seen by the gap in the drive alone; which gears they were takes engine and vehicle speed, or a lever sensor"
)
SPEED_NOT_KNOWN = "vehicle speed was not logged there"

_MAP = ("matrix", "offset", "noise_mm", "evidence", "layout")


def result_to_document(result: DriveResult) -> dict:
    """The result document, plain values only. ValueError where a number is not finite."""
    return {"format": FORMAT, **to_plain(result, shapes=SHAPES)}


def document_to_result(document: Mapping[str, Any]) -> DriveResult:
    """The result a document holds; fields nobody knows are passed over. StoreError, one line."""
    if not isinstance(document, Mapping):
        raise StoreError("document: an object is needed; is this a result that shiftlog wrote?")
    if document.get("format") != FORMAT:
        raise StoreError(f"format: {document.get('format')!r} is not known; this version reads format {FORMAT}")
    return from_plain(DriveResult, document, shapes=SHAPES)


def document_text(document: Mapping[str, Any], *, indent: int | None = 1) -> str:
    """A document as JSON text by RFC 8259: no NaN, no Infinity."""
    return json.dumps(document, allow_nan=False, ensure_ascii=False, indent=indent)


def read_document(path: Path) -> DriveResult:
    """The result in a file. StoreError names the file and what is wrong in it."""
    try:
        return document_to_result(json.loads(path.read_text(encoding="utf-8")))
    except OSError as error:
        raise StoreError(f"{path}: cannot be read ({error.strerror})") from error
    except UnicodeDecodeError as error:
        raise StoreError(f"{path}: is no JSON text; give a file that `shiftlog measure --json` wrote") from error
    except json.JSONDecodeError as error:
        raise StoreError(f"{path}, row {error.lineno}: is no JSON ({error.msg})") from error
    except StoreError as error:
        raise StoreError(f"{path}: {error}") from error


def _write_clock(result: DriveResult) -> dict:
    clock = {"recording": result.clock_recording, "zero": float(result.clock_zero_s)}
    return {"clock": clock}


def _read_clock(document: Mapping[str, Any], where: str) -> dict:
    clock = from_plain(Mapping[str, object], document.get("clock"), shapes={}, where=f"{where}.clock")
    return {
        "clock_recording": from_plain(str, clock.get("recording"), shapes={}, where=f"{where}.clock.recording"),
        "clock_zero_s": from_plain(float, clock.get("zero"), shapes={}, where=f"{where}.clock.zero"),
    }


def _write_map(gate: GateMap) -> dict:
    return {"map": {name: to_plain(getattr(gate, name), shapes=SHAPES, where=f"gate.map.{name}") for name in _MAP}}


def _read_map(gate: Mapping[str, Any], where: str) -> dict:
    here = f"{where}.map"
    plain = from_plain(Mapping[str, object], gate.get("map"), shapes={}, where=here)
    hints = {f.name: f.type for f in fields(GateMap)} | {"layout": GateLayout}
    return {name: from_plain(hints[name], plain.get(name), shapes=SHAPES, where=f"{here}.{name}") for name in _MAP}


def _write_shift(shift: Shift) -> dict:
    figures = figures_to_plain(shift.readings, of="shift")
    gap_start_s, gap_end_s = shift.gap or (None, None)
    plain = {"gap_start_s": gap_start_s, "gap_end_s": gap_end_s} | figures
    plain["unmeasured"] = _why_none(shift, figures["unmeasured"]) | figures["unmeasured"]
    return to_plain(plain, shapes={}, where=f"shifts[{shift.number}]")


def _why_none(shift: Shift, why: Mapping[str, str]) -> dict[str, str]:
    """Reasons for the times and counts of a shift that its kind does not have."""
    no_time = NO_LEVER if shift.seen_by != "lever" else f"a journey of this kind ({shift.outcome}) has none"
    reasons = {
        **dict.fromkeys(("out_s", "in_s", "end_s", "attempts", "paused", "double_declutched", "outcome"), no_time),
        "from_gear": GEAR_NOT_KNOWN,
        "to_gear": GEAR_NOT_KNOWN,
        "standing": SPEED_NOT_KNOWN,
    }
    if shift.seen_by == "acceleration":
        reasons |= dict.fromkeys(("from_gear", "to_gear"), GEAR_NOT_FELT)
    none = {_SHIFT_NAMES.get(k, k): text for k, text in reasons.items() if getattr(shift, k) is None}
    if shift.gap is None:
        none |= dict.fromkeys(("gap_start_s", "gap_end_s"), why.get("drive_gap_s", no_time))
    return none


def _read_shift(plain: Mapping[str, Any], where: str) -> dict:
    ends = (plain.get("gap_start_s"), plain.get("gap_end_s"))
    gap = None if None in ends else from_plain(tuple[float, float], list(ends), shapes={}, where=f"{where}.gap")
    return {"gap": gap, "readings": plain_to_figures(plain, where, structure=_names(Shift))}


def _write_rest(rest: Rest) -> dict:
    figures = figures_to_plain(rest.readings, of="rest")
    none = {key: why for key, why in _NO_WORD_OF_A_REST.items() if getattr(rest, key) is None}
    return figures | {"unmeasured": none | figures["unmeasured"]}


_NO_WORD_OF_A_REST = {
    "released": "the lever made no motion that tells a free one from a guided one, and no hand is felt on it",
    "came_from": "the lever made no motion across the gate to this rest",
    "in_bend": "no accelerometer at the body whose mounting is known",
}
"""Why what is said of a rest in words may be unknown."""


def _read_rest(plain: Mapping[str, Any], where: str) -> dict:
    return {"readings": plain_to_figures(plain, where, structure=_names(Rest))}


def _names(kind: type) -> tuple[str, ...]:
    return tuple(f.name for f in fields(kind))


_SHIFT_NAMES = {"from_gear": "from", "to_gear": "to"}
SHAPES = {
    DriveHead: Shape(names={"id": "drive", "notes": "drive_notes"}),
    DriveResult: Shape(
        names={"version": "shiftlog"},
        spread=("head",),
        own=("clock_recording", "clock_zero_s"),
        write=_write_clock,
        read=_read_clock,
    ),
    InputFile: Shape(names={"size_bytes": "bytes"}),
    Quality: Shape(pairs={"gaps": ("start_s", "end_s")}),
    RecordingReport: Shape(names={"latencies": "latency"}, spread=("quality",)),
    Unable: Shape(names={"name": "measure"}),
    GateMap: Shape(own=_MAP, write=_write_map, read=_read_map),
    Shift: Shape(names=_SHIFT_NAMES, own=("gap", "readings"), write=_write_shift, read=_read_shift),
    Rest: Shape(own=("readings",), write=_write_rest, read=_read_rest),
}
