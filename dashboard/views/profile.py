"""A car's profile: what is the car like?"""

import dash
from dash import ALL, Input, Output, State, ctx, dcc, html, no_update

from dashboard import ids, words
from dashboard.car_form import (
    GEARS,
    LAYOUTS,
    MOST_PLANES,
    NO_HOME,
    CarForm,
    car_to_form,
    form_to_car,
    plane_names,
    read_fields,
)
from dashboard.figures.thumbnail import data_url, draw_thumbnail
from dashboard.library import Library
from dashboard.parts.learnt import learnt_section
from dashboard.parts.notes import command, error_line
from dashboard.parts.page import crumbs, question, section
from dashboard.routes import Place, Query
from shiftlog.errors import ShiftlogError

_PLANES = (
    "Planes from left to right as the driver sees them: the forward gear above, the rear gear below; empty where "
    "there is none."
)
_START = CarForm(name="", planes=LAYOUTS["5 gears, R with 5"], home="3-4")


def layout(place: Place, query: Query, library: Library) -> html.Div:
    """The form, filled in as far as the car is known."""
    car = library.car(place.car) if place.car else None
    form = car_to_form(car) if car else CarForm(name=place.car or "", planes=_START.planes, home=_START.home)
    said = "Only the gate is needed to begin. Ratios, final drive, tyre and redline add over-rev figures."
    parts = [crumbs(Place(page="car", car=place.car), query)] if place.car else []
    parts += [question("What is the car like?", [said]), dcc.Store(id=ids.CAR, data={"car": place.car})]
    parts += [_gate_section(form), _drive_section(form), learnt_section(library, place.car, car, query)]
    save = html.Button("Save the profile", id=ids.CAR_SAVE, className="button")
    return html.Div([*parts, html.Div([save, html.Div(id=ids.CAR_ANSWER)], className="save")])


def _field(label: str, name, value, *, number: bool = False, hint: str = "") -> html.Div:
    """A field under its label; numbers are typed as text, so that a decimal comma is understood too."""
    text = f"{value:g}" if isinstance(value, float | int) else value or ""
    mode = "decimal" if number else "text"
    field = dcc.Input(
        id=name, value=text, type="text", inputMode=mode, className="field", placeholder=hint, debounce=True
    )
    return html.Div([html.Label([label, field])])


def _gate_section(form: CarForm) -> html.Section:
    choices = [{"label": name, "value": name} for name in LAYOUTS]
    now = next((name for name, planes in LAYOUTS.items() if planes == form.planes), None)
    padded = form.planes + (("", ""),) * (MOST_PLANES - len(form.planes))
    fields = [
        html.Div(
            [
                html.Span(f"plane {i + 1}", className="soft"),
                _gear_field(i, "forward", pair[0]),
                _gear_field(i, "rear", pair[1]),
            ]
        )
        for i, pair in enumerate(padded)
    ]
    layouts = dcc.RadioItems(id=ids.CAR_LAYOUT, options=choices, value=now, className="sides")
    home = dcc.RadioItems(id=ids.CAR_HOME, options=_homes(form.planes), value=form.home, className="sides")
    preview = html.Div(id=ids.CAR_PREVIEW, className="preview")
    return section(
        "Name and gate",
        html.Div([_field("Name", ids.CAR_NAME, form.name, hint="hill-climb coupe")], className="form wide"),
        html.Fieldset([html.Legend("Begin with a common layout"), layouts]),
        html.P(_PLANES, className="soft"),
        html.Div([html.Div(fields, className="planes"), preview], className="gateform"),
        html.Fieldset([html.Legend("The plane in which the lever rests by itself when it is in order"), home]),
    )


def _gear_field(index: int, end: str, value: str) -> dcc.Input:
    return dcc.Input(id=ids.plane(index, end), value=value, type="text", maxLength=1, className="field gearfield")


def _homes(planes) -> list[dict[str, str]]:
    return [{"label": name, "value": name} for name in [*plane_names(planes), NO_HOME]]


def _drive_section(form: CarForm) -> html.Section:
    ratios = form.ratios or {}
    fields = [
        _field("Redline, rpm", ids.CAR_REDLINE, form.redline_rpm, number=True),
        _field("Final drive", ids.CAR_FINAL, form.final_drive, number=True),
        _field("Tyre size", ids.CAR_TYRE, form.tyre, hint="205/50R15"),
        _field("or rolling radius, m", ids.CAR_RADIUS, form.radius_m, number=True),
    ]
    gears = [_field(f"Ratio of {gear}", ids.ratio(gear), ratios.get(gear), number=True) for gear in GEARS]
    return section(
        "Engine, ratios and tyre",
        html.Div(fields, className="form"),
        html.Div(gears, className="form narrow"),
        aside="Leave empty what is not known. Nothing is guessed from an empty field.",
    )


def register(app: dash.Dash, library: Library) -> None:
    """The layout choice, the picture, and saving."""
    _register_gate(app)

    @app.callback(
        Output(ids.CAR_ANSWER, "children"),
        Input(ids.CAR_SAVE, "n_clicks"),
        State(ids.CAR, "data"),
        State(ids.CAR_NAME, "value"),
        State(ids.plane(ALL, "forward"), "value"),
        State(ids.plane(ALL, "rear"), "value"),
        State(ids.CAR_HOME, "value"),
        State(ids.CAR_REDLINE, "value"),
        State(ids.CAR_FINAL, "value"),
        State(ids.CAR_TYRE, "value"),
        State(ids.CAR_RADIUS, "value"),
        State(ids.ratio(ALL), "value"),
        State(ids.CAR_LEARN, "value"),
        prevent_initial_call=True,
    )
    def save(clicks, choice, name, forward, rear, home, redline, final, tyre, radius, ratios, learn):
        if not clicks:
            return no_update
        gears = [state["id"]["gear"] for state in ctx.states_list[9]]
        fields = {
            "name": name or "",
            "planes": _planes(forward, rear),
            "home": home or NO_HOME,
            "redline": redline,
            "final": final,
            "ratios": dict(zip(gears, ratios, strict=True)),
            "tyre": tyre or "",
            "radius": radius,
        }
        return _save(library, fields, choice["car"], learnt=library.learnt(choice["car"]) if learn else None)


def _save(library: Library, fields: dict, name: str | None, *, learnt: dict[str, float] | None):
    try:
        form = read_fields(fields, learnt=learnt)
        path = library.save_car(form_to_car(form, base=library.car(name) if name else None))
    except ShiftlogError as error:
        return error_line(str(error))
    again = library.measure_again(form.name.strip())
    parts = [html.P("Saved. To use it for bare logs:"), command(f'shiftlog add LOG… --car "{path}"')]
    if again:
        parts.append(html.P(f"{words.count(again, 'drive')} of this car will be measured again with it."))
    return html.Div(parts, role="status")


def _planes(forward: list[str | None], rear: list[str | None]) -> tuple[tuple[str, str], ...]:
    pairs = zip(forward, rear, strict=True)
    clean = [((f or "").strip().upper(), (r or "").strip().upper()) for f, r in pairs]
    return tuple(pair for pair in clean if any(pair))


def _register_gate(app: dash.Dash) -> None:
    @app.callback(
        Output(ids.plane(ALL, "forward"), "value"),
        Output(ids.plane(ALL, "rear"), "value"),
        Input(ids.CAR_LAYOUT, "value"),
        prevent_initial_call=True,
    )
    def choose_layout(name: str | None):
        planes = LAYOUTS.get(name or "", ())
        padded = planes + (("", ""),) * (MOST_PLANES - len(planes))
        return [pair[0] for pair in padded], [pair[1] for pair in padded]

    @app.callback(
        Output(ids.CAR_PREVIEW, "children"),
        Output(ids.CAR_HOME, "options"),
        Output(ids.CAR_HOME, "value"),
        Input(ids.plane(ALL, "forward"), "value"),
        Input(ids.plane(ALL, "rear"), "value"),
        Input(ids.CAR_HOME, "value"),
    )
    def show_gate(forward, rear, home):
        planes = _planes(forward, rear)
        names = plane_names(planes)
        kept = home if home in (*names, NO_HOME) else next((n for n in names if n == "3-4"), NO_HOME)
        if not planes:
            return html.P("No gear yet.", className="reason"), _homes(planes), kept
        car = form_to_car(CarForm(name="preview", planes=planes, home=kept))
        picture = html.Img(src=data_url(draw_thumbnail(car.gate)), alt="the gate as described")
        return picture, _homes(planes), kept
