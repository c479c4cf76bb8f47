"""A measured drive in sentences and tables for the terminal."""

import textwrap
from collections import Counter
from collections.abc import Callable, Sequence

from shiftlog.commands.findings_text import finding_lines
from shiftlog.commands.terminal import WIDTH, table
from shiftlog.compare.reasons import merge_reasons
from shiftlog.compare.words import figure
from shiftlog.measure.capability import SURE
from shiftlog.model.rest import Rest
from shiftlog.model.result import DriveResult
from shiftlog.model.shift import Shift
from shiftlog.units import as_percent

NONE = "–"
EXPOSURE_CAUTION = (
    "Never try it out: over-revving destroys engines, and a clutch held down does not save a wrong low gear."
)


def drive_lines(result: DriveResult) -> list[str]:
    """All that is printed of a drive, line by line."""
    lines = [f"{result.head.id}, {result.car}: {_answer(result)}"]
    if result.gate:
        lines.append(
            f"Gate: {result.gate.scale} scale, orientation {result.gate.orientation} ({result.gate.evidence})."
        )
        if result.gate.orientation == "assumed":
            lines.append("Mind: the gears below may be mirrored against the truth.")
    else:
        lines.append(f"No lever figures: {result.gate_why}")
    if result.shifts:
        lines += ["", _shift_table(result.shifts), *_dash_lines(result.shifts)]
    lines += _rest_lines(result)
    return lines + finding_lines(result)


def _answer(result: DriveResult) -> str:
    if result.shifts and all(s.seen_by == "acceleration" for s in result.shifts):
        return f"{_felt(result.shifts)}."
    counts = Counter(s.outcome or _UNJUDGED.get(s.seen_by, "gear change") for s in result.shifts)
    words = ", ".join(f"{n} {name.replace('_', ' ')}" for name, n in counts.most_common())
    if not words:
        return "no shift found."
    return f"{_count(len(result.shifts), 'shift')} ({words}), {_count(len(result.rests), 'rest')} in neutral."


def _felt(shifts: Sequence[Shift]) -> str:
    """Shifts that acceleration alone shows are no certain ones: how many of them are all but certain."""
    sure = sum(s.confidence is not None and s.confidence >= SURE for s in shifts)
    return f"{_count(len(shifts), 'shift')} from acceleration, {sure or 'none'} of them at {100 * SURE:.0f} % or surer"


def _count(n: int, thing: str) -> str:
    return f"{n} {thing}" if n == 1 else f"{n} {thing}s"


def _number(unit: str, factor: float = 1.0) -> Callable[[float | bool | None], str]:
    return lambda value: NONE if value is None else figure(float(value) * factor, unit)


_UNJUDGED = {"acceleration": "felt in the drive, gear unknown"}
"""What a shift without an outcome is called, by what saw it."""


def change(shift: Shift) -> str:
    """From and to, or that neither is known."""
    gears = (shift.from_gear, *shift.via, shift.to_gear)
    return "gear unknown" if not any(gears) else "-".join(g or "?" for g in gears)


_COLUMNS: tuple[tuple[str, Callable[[Shift], str]], ...] = (
    ("no.", lambda s: str(s.number)),
    ("at", lambda s: f"{s.start_s:.1f} s"),
    ("shift", change),
    ("outcome", lambda s: (s.outcome or NONE).replace("_", " ")),
    ("sure", lambda s: NONE if s.confidence is None else as_percent(s.confidence)),
    ("time", lambda s: _number("s")(s.value("shift_time_s"))),
    ("neutral", lambda s: _number("s")(s.value("neutral_time_s"))),
    ("baulk", lambda s: _number("s")(s.value("baulk_time_s"))),
    ("drive gap", lambda s: _number("s")(s.value("drive_gap_s"))),
    ("knock", lambda s: _number("m/s²")(s.value("knock_peak_mps2"))),
    ("grind", lambda s: _grind(s)),
    ("clunk", lambda s: _number("m/s³")(s.value("jerk_p2p_mps3"))),
    ("dose", lambda s: _number("m/s^1.75")(s.value("vdv_mps175"))),
    ("speed", lambda s: _number("km/h", 3.6)(s.value("vehicle_speed_mps"))),
    ("over-rev", lambda s: {None: NONE, True: "WOULD OVER-REV", False: "no"}[s.value("over_rev")]),
)  # fmt: skip


def _grind(shift: Shift) -> str:
    """Yes with its level, no, or a dash that is explained below."""
    found, level = shift.value("grind"), shift.value("grind_level_db")
    if found is None:
        return NONE
    return f"YES {_number('dB')(level)}" if found else "no"


def _shift_table(shifts: Sequence[Shift]) -> str:
    rows = [[read(s) for _, read in _COLUMNS] for s in shifts]
    kept = [i for i in range(len(_COLUMNS)) if i < 3 or any(row[i] != NONE for row in rows)]
    return table([_COLUMNS[i][0] for i in kept], [[row[i] for i in kept] for row in rows])


_EXPLAINED = {
    "time": "shift_time_s", "neutral": "neutral_time_s", "baulk": "baulk_time_s", "drive gap": "drive_gap_s",
    "knock": "knock_peak_mps2", "grind": "grind", "clunk": "jerk_p2p_mps3", "dose": "vdv_mps175",
    "speed": "vehicle_speed_mps", "over-rev": "over_rev",
}  # fmt: skip
"""The figure whose absence a dash in a column stands for."""
_MOST_REASONS = 3


def _dash_lines(shifts: Sequence[Shift]) -> list[str]:
    """Why there are dashes, or no column at all: each reason once, with how many shifts it holds for."""
    told: dict[str, list[str]] = {}
    for column, key in _EXPLAINED.items():
        found = Counter(r.why for s in shifts if (r := s.readings.get(key)) is not None and r.value is None)
        for why, n in merge_reasons(found)[:_MOST_REASONS]:
            many = "" if n == len(shifts) else f" ({_count(n, 'shift')})"
            told.setdefault(f"{why}{many}", []).append(column)
    texts = [f"{NONE} {', '.join(columns)}: {why}" for why, columns in told.items()]
    lines = [line for text in texts for line in textwrap.wrap(text, WIDTH, subsequent_indent="  ")]
    return ["", *lines] if lines else []


def _rest_lines(result: DriveResult) -> list[str]:
    if result.gate is None:
        return []
    share, home = result.summary.wrong_plane, result.gate.layout.home
    if share is None:
        lines = [f"Rests: {result.summary.unmeasured.get('wrong_plane', 'none')}."]
    else:
        lines = [
            f"The released lever came to rest out of the {home} plane {share.k} of {share.n} times "
            f"(95 % interval {as_percent(share.low)} to {as_percent(share.high)})."
        ]
    if result.summary.hysteresis_mm is not None:
        lines.append(
            f"Let go from the right it rests {result.summary.hysteresis_mm:+.1f} mm from where it rests from the left."
        )
    # A standing car over-revs nothing.
    exposed = [r for r in result.rests if r.over_rev_if and (r.value("vehicle_speed_mps") or 0.0) > 1.0]
    if exposed:
        lines += ["", _exposure_table(exposed), EXPOSURE_CAUTION]
    return ["", *lines]


def _exposure_table(rests: Sequence[Rest]) -> str:
    rows = [
        [
            f"{r.start_s:.1f} s",
            f"{r.end_s - r.start_s:.1f} s",
            r.plane,
            _number("km/h", 3.6)(r.value("vehicle_speed_mps")),
            ", ".join(f"{g}: {rpm:.0f} rpm" for g, rpm in r.over_rev_if.items()),
        ]
        for r in rests
    ]
    return table(["rest at", "for", "plane", "speed", "engine speed if pushed straight"], rows)
