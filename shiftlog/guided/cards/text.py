"""A card as text, to print or to show in a terminal."""

from textwrap import wrap

from shiftlog.model.guided import Card, Step

WIDTH = 78


def card_text(card: Card) -> str:
    """The whole card, no line wider than ``WIDTH``, with a newline at its end."""
    return "\n".join(card_lines(card)) + "\n"


def card_lines(card: Card) -> tuple[str, ...]:
    """The whole card, line by line."""
    head = [f"{card.title} ({card.kind})", *wrap(card.question, WIDTH), where_and_long(card)]
    parts = [
        ("What must be fitted", [*_points(card.needs)]),
        ("Before", [*_points(card.before)]),
        (f"Steps, {times(card.repeats)}", _numbered(card.steps)),
        ("Mark each span as one of", [*_points(card.configurations)]),
        ("What spoils it or looks alike", [*_points(card.bad_cases)]),
        ("Cautions", [*_points(card.cautions)]),
    ]
    return (*head, *(line for title, lines in parts if lines for line in ("", title, *lines)))


def where_and_long(card: Card) -> str:
    """Where it is done and how long it takes: ``Standing, about 3 minutes.``"""
    return f"{'On the road' if card.on_road else 'Standing'}, about {minutes(card.minutes)}."


def minutes(value: float) -> str:
    """``1 minute``, ``2.5 minutes``."""
    return f"{value:g} minute" if value == 1 else f"{value:g} minutes"


def times(repeats: int) -> str:
    """``once`` or ``10 times``."""
    return "once" if repeats == 1 else f"{repeats} times"


def seconds_text(step: Step) -> str:
    """How long a step lasts: ``2.5 s``, or that the person goes on by himself."""
    return "until you go on" if step.seconds is None else f"{step.seconds:g} s"


def _points(lines: tuple[str, ...]) -> list[str]:
    return [piece for line in lines for piece in _hanging("- ", line)]


def _numbered(steps: tuple[Step, ...]) -> list[str]:
    lines = []
    for number, one in enumerate(steps, start=1):
        lines += _hanging(f"{number:2d}. ", f"{one.say} ({seconds_text(one)}): {one.do}")
    return lines


def _hanging(mark: str, text: str) -> list[str]:
    return wrap(text, WIDTH, initial_indent=mark, subsequent_indent=" " * len(mark))
