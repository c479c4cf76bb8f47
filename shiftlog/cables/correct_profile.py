"""Writes a measured mm per turn into a car's profile; every comment and all other text stay as they are."""

import os
import re
import tomllib
from collections.abc import Mapping
from pathlib import Path

from shiftlog.errors import ProfileError
from shiftlog.ingest.car_models import LEAST_PER_TURN_MM, MOST_PER_TURN_MM
from shiftlog.model.follow_up import CableFollowed, FollowUp

TOO_WIDE = 0.2
"""A figure that is known no better than to this share of itself is not worth a profile's place."""
TABLE = "cables"
_HEAD = re.compile(r"^\s*\[\s*cables\s*\]\s*(#.*)?$")
_ANY_HEAD = re.compile(r"^\s*\[")


def find_corrections(found: FollowUp) -> tuple[dict[str, float], tuple[str, ...]]:
    """(key of the profile → mm per turn, why others are left as they are)."""
    corrections, left = {}, []
    for cable in found.cables:
        why = _why_not(cable)
        if why is None:
            corrections[f"{cable.turning.name}_mm_per_turn"] = round(float(cable.mm_per_turn.value or 0.0), 3)
        elif cable.turning.touched:
            left.append(f"{cable.turning.name}_mm_per_turn stays as it is: {why}")
    return corrections, tuple(left)


def _why_not(cable: CableFollowed) -> str | None:
    turn = cable.mm_per_turn
    if turn.value is None:
        return turn.why
    if float(turn.value) <= 0:
        return "the cable moved the lever against the way it was turned; turn it the other way, or check the test"
    if not LEAST_PER_TURN_MM <= float(turn.value) <= MOST_PER_TURN_MM:
        return f"{float(turn.value):.3g} mm is no turn of an adjuster; check what was turned"
    if (turn.uncertainty or 0.0) > TOO_WIDE * float(turn.value):
        return "it is known too roughly; turn further, or press each gear more often"
    return None


def correct_profile(path: Path, corrections: Mapping[str, float]) -> None:
    """Rewrite numbers of ``[cables]`` in place. ProfileError where that cannot be done without touching more."""
    try:
        old = path.read_bytes().decode("utf-8")
        before = tomllib.loads(old)
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise ProfileError(f"{path}: cannot be read as a profile ({error}); give the car.toml of this car") from error
    new = set_numbers(old, corrections)
    table = before.get(TABLE, {})
    wanted = {**before, TABLE: {**(table if isinstance(table, dict) else {}), **corrections}}
    try:
        fits = tomllib.loads(new) == wanted
    except tomllib.TOMLDecodeError:
        fits = False
    if not fits:
        given = ", ".join(f"{key} = {value}" for key, value in corrections.items())
        raise ProfileError(f"{path}: [cables] is written in a way that cannot be corrected safely; set {given} by hand")
    _replace(path, new)


def set_numbers(text: str, numbers: Mapping[str, float]) -> str:
    """The text with numbers of its ``[cables]`` set; keys that it lacks come under the heading, a table at the end."""
    lines = text.splitlines(keepends=True)
    end = "\r\n" if lines and lines[0].endswith("\r\n") else "\n"
    head = next((k for k, line in enumerate(lines) if _HEAD.match(line.rstrip("\r\n"))), None)
    if head is None:
        return _without_table(text, numbers, end)
    last = next((k for k in range(head + 1, len(lines)) if _ANY_HEAD.match(lines[k])), len(lines))
    for key, value in numbers.items():
        at = next((k for k in range(head + 1, last) if _row(key).match(lines[k])), None)
        if at is None:
            lines[head] = lines[head].rstrip("\r\n") + end
            lines.insert(head + 1, f"{key} = {value}{end}")
            last += 1
        else:
            lines[at] = _row(key).sub(rf"\g<1>{value}", lines[at], count=1)
    return "".join(lines)


def _without_table(text: str, numbers: Mapping[str, float], end: str) -> str:
    """An inline table or dotted keys are corrected where they stand; else the table is put at the end."""
    if re.search(rf"^\s*{TABLE}\s*[.=]", text, re.MULTILINE):
        for key, value in numbers.items():
            text = re.sub(rf"(\b{key}\s*=\s*)[-+0-9.eE_]+", rf"\g<1>{value}", text, count=1)
        return text
    joined = "".join(f"{key} = {value}{end}" for key, value in numbers.items())
    gap = "" if text.endswith(("\n", "\r\n")) or not text else end
    return f"{text}{gap}{end}[{TABLE}]{end}{joined}"


def _row(key: str) -> re.Pattern[str]:
    return re.compile(rf"""^(\s*["']?{key}["']?\s*=\s*)[-+0-9.eE_]+""")


def _replace(path: Path, text: str) -> None:
    """Whole or not at all."""
    beside = path.with_name(f"{path.name}.new")
    try:
        beside.write_bytes(text.encode("utf-8"))
        os.replace(beside, path)
    except OSError as error:
        raise ProfileError(f"{path}: cannot be written ({error.strerror or error}); make it writable") from error
