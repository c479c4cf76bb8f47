"""How a test was set up, in words that people write in more than one way."""

COMPLETE = "complete"
_USUAL = ("", COMPLETE, "as found", "as usual")
"""Everything connected and nothing done before, as cards, forms and people put it."""


def set_up_of(configuration: str | None) -> str:
    """The set-up by which tests are told apart: ``complete`` for all words that mean the usual one."""
    told = (configuration or "").strip().lower()
    return COMPLETE if told in _USUAL else told
