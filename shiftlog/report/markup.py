"""HTML that cannot be broken by what people type: a plain text is always escaped, only a tag is not."""

from html import escape

_EMPTY = ("img", "br", "meta", "hr", "line", "rect", "circle", "path")


class Html(str):
    """Text that is HTML already."""

    __slots__ = ()


def tag(name: str, /, *inside: object, **attributes: object) -> Html:
    """An element. Attributes: ``class_`` is class, ``a_b`` is ``a-b``; None leaves one out."""
    named = {key.rstrip("_").replace("_", "-"): value for key, value in attributes.items() if value is not None}
    written = "".join(f' {key}="{escape(str(value))}"' for key, value in named.items())
    if name in _EMPTY:
        return Html(f"<{name}{written}/>" if not inside else f"<{name}{written}>{join(inside)}</{name}>")
    return Html(f"<{name}{written}>{join(inside)}</{name}>")


def join(parts: object) -> Html:
    """Parts one after another; texts escaped, None left out, sequences taken apart."""
    if parts is None:
        return Html("")
    if isinstance(parts, Html):
        return parts
    if isinstance(parts, tuple | list):
        return Html("".join(join(part) for part in parts))
    return Html(escape(str(parts)))


def lines(text: str) -> Html:
    """A text with its line ends kept."""
    return Html("<br/>".join(escape(line) for line in text.splitlines()))
