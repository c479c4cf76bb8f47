"""The panel that prompts through a test. The browser alone runs it (assets/prompts.js), so it goes on offline."""

import json
from collections.abc import Sequence
from dataclasses import asdict

from dash import html

from dashboard import ids
from dashboard.parts.notes import caution
from dashboard.parts.page import section
from shiftlog.model.guided import Card

MODES = {"voice": "Voice", "beep": "Beeps", "silent": "Silent"}
DRIVING = (
    "Never operate this while driving. A passenger holds the device and gives the prompts. Driving alone: read the "
    "card before setting off, leave the prompts off, and mark the span afterwards on the drive's page."
)
AFTERWARDS = "At the end stand the marks of every step, for the drive's own page, under “Mark a test”."
STANDING = "Every prompt comes by itself when its time is up: both hands stay free."


def prompt_data(cards: Sequence[Card]) -> str:
    """What the script needs of the tests, as JSON."""
    return json.dumps(
        [
            {
                "kind": card.kind, "title": card.title, "repeats": card.repeats,
                "steps": [asdict(step) for step in card.steps],
                "configuration": card.configurations[0] if len(card.configurations) == 1 else None,
            }
            for card in cards
        ]
    )  # fmt: skip


def prompts(cards: Sequence[Card]) -> html.Section:
    """Start, the step in large letters with its countdown, stop, and the marks at the end."""
    road = any(card.on_road for card in cards)
    parts = [
        caution(DRIVING) if road else html.P(STANDING, className="soft"),
        _modes(),
        _configurations(cards),
        _passenger() if road else None,
        _stage(),
        _buttons(),
        html.P(AFTERWARDS, className="soft after"),
        _marks(),
    ]
    inner = html.Div(parts, id=ids.PROMPTS, **{"data-tests": prompt_data(cards), "data-road": "yes" if road else "no"})
    return section("Prompts", inner, id="prompts-section")


def _modes() -> html.Div:
    buttons = [
        html.Button(text, className="unit on" if mode == "voice" else "unit", id=f"prompt-{mode}",
                    **{"data-mode": mode, "aria-pressed": "true" if mode == "voice" else "false"})
        for mode, text in MODES.items()
    ]  # fmt: skip
    group = html.Div(buttons, className="units", role="group", **{"aria-label": "How prompts are given"})
    return html.Div([group, html.P(id="prompt-means", className="soft", role="status")])


def _configurations(cards: Sequence[Card]) -> html.Div | None:
    asked = [card for card in cards if len(card.configurations) > 1 and not any(step.marks for step in card.steps)]
    words = list(dict.fromkeys(word for card in asked for word in card.configurations))
    if not words:
        return None
    options = [html.Option(word, value=word) for word in words]
    label = html.Label("How it is set up", htmlFor=ids.PROMPT_CONFIGURATION)
    return html.Div([label, html.Select(options, id=ids.PROMPT_CONFIGURATION, className="field")], className="after")


def _passenger() -> html.Div:
    text = "A passenger holds this device"
    button = html.Button(text, id="prompt-passenger", className="button quiet", **{"aria-pressed": "false"})
    return html.Div(button, className="after")


def _stage() -> html.Div:
    return html.Div(
        [
            html.P(id="prompt-where", className="soft"),
            html.P("Press Start, then hands to work.", id="prompt-say", role="status", **{"aria-live": "assertive"}),
            html.P(id="prompt-do"),
            html.P(id="prompt-count", **{"aria-hidden": "true"}),
            html.P(id="prompt-next-up", className="soft"),
        ],
        id="prompt-stage",
    )


def _buttons() -> html.Div:
    return html.Div(
        [
            html.Button("Start", id="prompt-start", className="button"),
            html.Button("Go on", id="prompt-go-on", className="button quiet", hidden=True),
            html.Button("Next", id="prompt-next", className="button quiet", hidden=True),
            html.Button("Stop", id="prompt-stop", className="button quiet", hidden=True),
        ],
        className="row",
    )


def _marks() -> html.Div:
    return html.Div(
        [
            html.H3("Marks"),
            html.P("Of every run since this page was opened, those before a reload among them.", className="soft"),
            html.P(id="prompt-ended", role="status"),
            html.P(id="prompt-sent", className="soft", role="status"),
            html.Textarea(id=ids.PROMPT_MARKS, className="field command", rows=14, readOnly=True,
                          **{"aria-label": "Marks to copy"}),
            html.Div(
                [
                    html.Button("Copy", id="prompt-copy", className="button quiet"),
                    html.Button("Download", id="prompt-download", className="button quiet"),
                    html.Button("Forget", id="prompt-forget", className="button quiet",
                                title="Forget these marks, before the next recording"),
                ],
                className="row",
            ),
        ],
        id="prompt-done",
        hidden=True,
    )  # fmt: skip
