"""What is being done behind the page: measuring drives, reading logs."""

from collections.abc import Mapping

from dash import dcc, html

from dashboard import ids
from dashboard.parts.page import section

Said = Mapping[str, str]
ANOTHER = "another drive"


def working(said: Said, names: Said, *, title: str = "Being measured", only: bool = False) -> html.Div:
    """The work as it stood when the page was built, and the clock that follows it.

    ``said`` must be taken before the rest of the page is built: work that ends meanwhile is then still seen to end.
    only : whether work that ``names`` does not name is kept off the page
    """
    shown = {"title": title, "names": dict(names), "only": only, "keys": list(said)}
    return html.Div(
        [
            html.Div(work_lines(said, shown), id=ids.WORK),
            dcc.Store(id=ids.WORK_SHOWN, data=shown),
            dcc.Interval(id=ids.WORK_TICK, interval=1000),
        ]
    )


def work_lines(said: Said, shown: dict) -> object:
    """A line for each piece of work the page shows, or nothing."""
    names = shown["names"]
    mine = {key: text for key, text in said.items() if key in names or not shown["only"]}
    if not mine:
        return None
    lines = [html.P(f"{names.get(key, ANOTHER)}: {text}", className="soft") for key, text in mine.items()]
    return section(shown["title"], *lines)
