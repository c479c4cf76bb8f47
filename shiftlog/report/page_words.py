"""What can be read on a page, line by line, and where another page says something else."""

import re
from dataclasses import dataclass
from difflib import SequenceMatcher
from html.parser import HTMLParser
from itertools import zip_longest

_BLOCKS = frozenset(
    ("title", "h1", "h2", "h3", "p", "li", "dt", "dd", "tr", "caption", "figcaption", "text", "summary", "footer", "br",
     "section", "table", "div", "body")
)  # fmt: skip
_CELLS = frozenset(("td", "th"))
_MUTE = frozenset(("style", "script"))
_SPOKEN = ("alt", "aria-label")
_NUMBER = re.compile(r"(\d+(?:[.,]\d+)*)")
_TAGS = re.compile(r"(<[^>]*>)")
_NEAR_PX = 0.2
"""A figure that ends a little elsewhere on another machine moves a mark by less than anybody sees."""
MOST_LETTERS = 160
LOOK = "the look of the page, its pictures or photos"


@dataclass(frozen=True, eq=False, kw_only=True)
class OtherWords:
    """A line that a page has otherwise than it should. there : on the page; right : as it should be; "" is nothing"""

    there: str
    right: str


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.lines: list[str] = [""]
        self._mute = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._mute += tag in _MUTE
        if tag in _BLOCKS:
            self.lines.append("")
        if tag in _CELLS and self.lines[-1].strip():
            self.lines[-1] += " | "
        self.lines += [value for name, value in attrs if name in _SPOKEN and value] + [""] if tag == "img" else []

    def handle_endtag(self, tag: str) -> None:
        self._mute -= tag in _MUTE
        if tag in _BLOCKS:
            self.lines.append("")

    def handle_data(self, data: str) -> None:
        if not self._mute:
            self.lines[-1] += data


def read_lines(page: str) -> list[str]:
    """Everything that can be read on a page; a row of a table is one line."""
    reader = _Reader()
    reader.feed(page)
    reader.close()
    return [line for text in reader.lines if (line := " ".join(text.split()))]


def find_other_words(page: str, right: str, *, exact: bool) -> tuple[OtherWords, ...]:
    """Lines of a page that are not those of the page as it should be; without any, whether the rest is its own.

    exact : not even the last digit of a number may differ
    """
    if page == right:
        return ()
    there, wanted = read_lines(page), read_lines(right)
    matcher = SequenceMatcher(a=there, b=wanted, autojunk=False)
    found = [
        OtherWords(there=one, right=other)
        for what, a, b, c, d in matcher.get_opcodes()
        if what != "equal"
        for one, other in zip_longest(there[a:b], wanted[c:d], fillvalue="")
        if exact or not _is_near(one, other)
    ]
    if not found and not _is_like(page, right, exact=exact):
        found = [OtherWords(there=LOOK, right="")]
    return tuple(found)


def _is_near(one: str, other: str) -> bool:
    """The same words, and numbers with a decimal mark that differ by one in their last place at most."""
    parts = _NUMBER.split(one), _NUMBER.split(other)
    return len(parts[0]) == len(parts[1]) and all(a == b or _is_next(a, b) for a, b in zip(*parts, strict=True))


def _is_next(one: str, other: str) -> bool:
    if not (_NUMBER.fullmatch(one) and _NUMBER.fullmatch(other)) or one.isdigit() or len(one) != len(other):
        return False
    return abs(int(re.sub(r"\D", "", one)) - int(re.sub(r"\D", "", other))) <= 1


def _is_like(page: str, right: str, *, exact: bool) -> bool:
    """The same elements in the same order, marks of pictures in the same places."""
    parts = _TAGS.split(page), _TAGS.split(right)
    if exact or len(parts[0]) != len(parts[1]):
        return False
    return all(a == b or _is_near(a, b) or _is_beside(a, b) for a, b in zip(*parts, strict=True))


def _is_beside(one: str, other: str) -> bool:
    pairs = list(zip_longest(_NUMBER.split(one), _NUMBER.split(other), fillvalue=""))
    if not one.startswith("<") or any(a != b for a, b in pairs[::2]):
        return False
    return all(
        a == b or (_is_plain(a) and _is_plain(b) and abs(float(a) - float(b)) <= _NEAR_PX) for a, b in pairs[1::2]
    )


def _is_plain(number: str) -> bool:
    return re.fullmatch(r"\d+(\.\d+)?", number) is not None


def show_words(words: OtherWords) -> tuple[str, str]:
    """Both texts, cut to the stretch in which they differ where they are long."""
    there, right = words.there, words.right
    same = next((i for i, (a, b) in enumerate(zip(there, right, strict=False)) if a != b), min(len(there), len(right)))
    start = max(0, same - MOST_LETTERS // 2)
    return _cut(there, start), _cut(right, start)


def _cut(text: str, start: int) -> str:
    end = start + MOST_LETTERS
    return f"{'…' if start and text else ''}{text[start:end]}{'…' if end < len(text) else ''}"
