"""Writes the two files of a drive as TOML that people can read and mend."""

import json
import re
from collections.abc import Mapping
from datetime import date, datetime, time

_BARE = re.compile(r"^[A-Za-z0-9_-]+$")


def toml_value(value: object) -> str:
    """One value on one line: text, number, truth, date, list or inline table."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return _quoted(value)
    if isinstance(value, (datetime, date, time)):
        return value.isoformat()
    if isinstance(value, Mapping):
        inside = ", ".join(f"{toml_key(k)} = {toml_value(v)}" for k, v in value.items())
        return "{ " + inside + " }" if inside else "{}"
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(toml_value(v) for v in value) + "]"
    return repr(float(value)) if isinstance(value, float) else str(value)


def toml_key(key: str) -> str:
    """A key, quoted only where it must be. Gears are quoted so that ``"1"`` is plainly a name."""
    return key if _BARE.match(key) and not key.isdigit() and key != "R" else _quoted(key)


def toml_table(heading: str, values: Mapping[str, object]) -> str:
    """A headed table; values that are None are left out. ``heading`` as it stands between the brackets."""
    lines = [f"{toml_key(k)} = {toml_value(v)}" for k, v in values.items() if v is not None]
    return "\n".join([heading, *lines]) + "\n"


def _quoted(text: str) -> str:
    # JSON's escapes are TOML's as well, but for the one control character that JSON lets stand.
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
