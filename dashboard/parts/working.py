"""What is being measured behind the page."""

from dash import dcc, html

from dashboard import ids
from dashboard.parts.page import section

Said = dict[str, str]


def working(said: Said, names: Said) -> html.Div:
    """The work as it stood when the page was built, and the clock that follows it.

    ``said`` must be taken before the rest of the page is built: work that ends meanwhile is then still seen to end.
    """
    return html.Div([html.Div(work_lines(said, names), id=ids.WORK), dcc.Interval(id=ids.WORK_TICK, interval=1000)])


def work_lines(said: Said, names: Said) -> object:
    """A line for each piece of work, or nothing."""
    if not said:
        return None
    lines = [html.P(f"{names.get(key, key)}: {text}", className="soft") for key, text in said.items()]
    return section("Being measured", *lines)
