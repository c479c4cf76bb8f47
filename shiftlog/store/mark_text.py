"""``[[test]]`` tables in the text of a ``drive.toml``: one added, one taken out, every other character kept."""

import re
import tomllib

from shiftlog.errors import StoreError
from shiftlog.ingest.toml_text import toml_table
from shiftlog.model.drive import MarkedTest

_HEAD = re.compile(r"^[ 	]*\[")
_TEST = re.compile(r"""^[ \t]*\[\[[ \t]*(?:test|"test"|'test')[ \t]*\]\]""")
_LINE = re.compile(r"[^\n]*\n|[^\n]+")
_QUOTES = ('"""', "'''", '"', "'")


def add_test(text: str, mark: MarkedTest) -> str:
    """The text with one more table at its end. StoreError where that would not give what is meant."""
    line = "\r\n" if "\r\n" in text else "\n"
    table = toml_table("[[test]]", _values(mark)).replace("\n", line)
    kept = text if text.endswith("\n") or not text else text + line
    after = f"{kept}{line}{table}"
    return _checked(text, after, [*_tests(text), _values(mark)])


def remove_test(text: str, number: int) -> str:
    """The text without its table of that number, counted from 0. StoreError where that cannot be done in the text."""
    lines = _LINE.findall(text)
    heads = _heads(lines)
    starts = [i for i in heads if _TEST.match(lines[i])]
    tests = _tests(text)
    if len(starts) != len(tests) or number >= len(starts):
        raise StoreError("drive.toml: its tests are not written as [[test]] tables; take the span out by hand")
    first = starts[number]
    after = next((i for i in heads if i > first), len(lines))
    last = max(i for i in range(first, after) if _says(lines[i]))
    rest = lines[last + 1 :]
    if first and _bare(lines[first - 1]) and (not rest or _bare(rest[0])):
        first -= 1
    return _checked(text, "".join(lines[:first] + rest), tests[:number] + tests[number + 1 :])


def _values(mark: MarkedTest) -> dict[str, object]:
    values = {"kind": mark.kind, "start_s": mark.start_s, "end_s": mark.end_s, "configuration": mark.configuration}
    values["gearbox_temp_c"] = mark.gearbox_temp_c
    known = {key: value for key, value in values.items() if value is not None}
    return known | ({"waits_s": list(mark.waits_s)} if mark.waits_s else {})


def _tests(text: str) -> list[dict[str, object]]:
    return list(tomllib.loads(text).get("test", []))


def _checked(before: str, after: str, tests: list[dict[str, object]]) -> str:
    """The new text, once it is sure that it says what the old one said but for its tests."""
    old, wanted = tomllib.loads(before), {"test": tests} if tests else {}
    old.pop("test", None)
    try:
        same = tomllib.loads(after) == old | wanted
    except tomllib.TOMLDecodeError:
        same = False
    if not same:
        raise StoreError("drive.toml: cannot be changed without touching its other text; edit its [[test]] by hand")
    return after


def _says(line: str) -> bool:
    return bool(line.split("#")[0].strip())


def _bare(line: str) -> bool:
    return not line.strip()


def _heads(lines: list[str]) -> list[int]:
    """Indices of lines that open a table; what looks like one inside a text or a list of several lines is none."""
    found, quote, depth = [], "", 0
    for index, line in enumerate(lines):
        if not quote and not depth and _HEAD.match(line):
            found.append(index)
            continue
        quote, depth = _scan(line, quote, depth)
    return found


def _scan(line: str, quote: str, depth: int) -> tuple[str, int]:
    """The quote that is open after a line, or "", and how deep in brackets it ends."""
    at = 0
    while at < len(line):
        if quote:
            at, quote = _within(line, at, quote)
            continue
        opened = next((q for q in _QUOTES if line.startswith(q, at)), None)
        if opened:
            quote, at = opened, at + len(opened)
            continue
        if line[at] == "#":
            break
        depth += {"[": 1, "{": 1, "]": -1, "}": -1}.get(line[at], 0)
        at += 1
    return (quote if len(quote) == 3 else ""), depth


def _within(line: str, at: int, quote: str) -> tuple[int, str]:
    if line[at] == "\\" and quote[0] == '"':
        return at + 2, quote
    return (at + len(quote), "") if line.startswith(quote, at) else (at + 1, quote)
