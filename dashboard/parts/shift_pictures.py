"""The close-up pictures of one shift, each with what it tells and what it does not, or the reason why it is missing."""

from dash import dcc, html

from dashboard import ids
from dashboard.figures.frame import CONFIG
from dashboard.figures.swing import swing_words
from dashboard.parts.notes import reason
from dashboard.parts.page import section
from shiftlog.model.shift import Shift

OLD = "this drive was measured before the figure existed; measure it again"
SOUND = (
    "Tells whether something sounded while the gear was going in, and how high. It does not tell what: a whine, a trim "
    "or the road sounds here too, and a line that fits a clash is evidence, no proof."
)
SHOCK = (
    "Tells which parts the blow can excite: those whose own frequency lies where the line is high. It does not tell "
    "which parts there are, nor how the blow feels."
)
SHOCK_MEANS = (
    "Shock response spectrum: the greatest acceleration of an oscillator of each frequency and Q = 10 that rides on "
    "the recorder, during the blow and as it rings out; at each frequency the axis that shakes most. Dotted: as long a "
    "stretch a quarter of a second earlier; where the solid line does not stand clear of it, others shake as much."
)
SWING = (
    "Tells how the driveline swung after the clutch took up. It does not tell why: the driver's clutch foot sets it "
    "going as much as a worn mount lets it go on."
)
FELT = (
    "Clunk is the sharpness of the jerk, shuffle the swing that follows, dose the shaking a passenger was given over "
    "the whole shift. They can disagree: a published study found that shorter pulses with higher jerk were felt as "
    "more comfortable. So no score is made of them."
)

HEARD = ("knock_peak_mps2",)
"""Where the recorder was there, a grind that stays open is looked at all the more."""


def picture_sections(shift: Shift) -> list[html.Section]:
    """Sound, blow and swing of a shift."""
    sound = [_graph(ids.SHIFT_SOUND), html.P(id=ids.SOUND_WORDS, className="soft")]
    shock = [_graph(ids.SHIFT_SHOCK), html.P(SHOCK_MEANS, className="soft")]
    swing = [_graph(ids.SHIFT_SWING), html.P(swing_words(shift))]
    return [
        _picture("How it sounded as the gear went in", shift, ("grind", "grind_level_db"), SOUND, sound, by=HEARD),
        html.Div(
            [
                _picture("What the knock shakes", shift, ("knock_peak_mps2",), SHOCK, shock),
                _picture("How the driveline swung after it", shift, ("shuffle_hz",), SWING, swing, FELT),
            ],
            className="two even",
        ),
    ]


def _graph(name: str) -> dcc.Graph:
    return dcc.Graph(id=name, config=CONFIG, className="closeup")


def _picture(
    title: str,
    shift: Shift,
    keys: tuple[str, ...],
    tells: str,
    picture: list,
    more: str | None = None,
    *,
    by: tuple[str, ...] = (),
) -> html.Section:
    """A picture where any of its figures exists, or of those it can be drawn by; the reasons of those that do not."""
    missing = [_why(shift, key) for key in keys if shift.value(key) is None]
    shown = picture if any(shift.value(key) is not None for key in (*keys, *by)) else []
    whys = [reason(f"{why[:1].upper()}{why[1:]}.") for why in dict.fromkeys(missing)]
    words = [html.P(tells)] if shown else []
    words += [html.P(more, className="soft")] if more else []
    return section(title, *whys, *shown, *words)


def _why(shift: Shift, key: str) -> str:
    reading = shift.readings.get(key)
    return OLD if reading is None else (reading.why or OLD).rstrip(".")
