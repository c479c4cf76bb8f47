"""Small pieces of a page: sections, tables that a phone stacks, lists of what was written down."""

from collections.abc import Sequence

from shiftlog.report.markup import Html, lines, tag

_UNFOLD = Html(
    '<script>addEventListener("beforeprint",()=>document.querySelectorAll("details").forEach(d=>d.open=true))</script>'
)
"""What is folded on a screen is whole on paper."""


def section(title: str, *inside: object, kind: str | None = None) -> Html:
    """A part of the page under its heading."""
    return tag("section", tag("h2", title), list(inside), class_=kind)


def table(heads: Sequence[str], rows: Sequence[Sequence[object]], *, caption: str = "", kind: str = "stack") -> Html:
    """A table; on a phone each row becomes a block of its own, with the heads beside the cells."""
    head = tag("thead", tag("tr", [tag("th", text, scope="col") for text in heads]))
    body = [tag("tr", [tag("td", cell, data_head=heads[i]) for i, cell in enumerate(row)]) for row in rows]
    inner = tag("table", tag("caption", caption) if caption else None, head, tag("tbody", body), class_=kind)
    return tag("div", inner, class_="scroll")


def told(pairs: Sequence[tuple[str, object]]) -> Html | None:
    """Names and what is said of them; what nobody said is left out, and all of it where nobody said anything."""
    said = [(name, lines(value) if isinstance(value, str) and not isinstance(value, Html) else value)
            for name, value in pairs if value not in ("", None, (), [])]  # fmt: skip
    return tag("dl", [[tag("dt", name), tag("dd", value)] for name, value in said]) if said else None


def bullets(items: Sequence[object]) -> Html:
    """A list of lines."""
    return tag("ul", [tag("li", item) for item in items])


def figure(title: str, picture: Html, note: str = "") -> Html:
    """A picture under its name, with a note."""
    return tag("figure", tag("figcaption", title), picture, tag("p", note, class_="note") if note else None)


def document(title: str, style: str, code: str, body: object) -> str:
    """A whole page that needs nothing from anywhere."""
    head = [
        tag("meta", charset="utf-8"), tag("meta", name="viewport", content="width=device-width, initial-scale=1"),
        tag("meta", name="color-scheme", content="light dark"), tag("meta", name="referrer", content="no-referrer"),
        tag("title", title), Html(f"<style>{style}</style>"),
    ]  # fmt: skip
    return f"<!DOCTYPE html>\n{tag('html', tag('head', head), tag('body', tag('main', body), _UNFOLD), lang=code)}\n"
