"""What a client's own words say of cold and hot: a suggestion for the record, never a decision."""

import re
from dataclasses import dataclass

COLD, HOT, BOTH = "cold", "hot", "both"

_COLD = re.compile(
    r"\bcold(?:er|ly)?\b|\bfrost\w*|\bfreez\w+|\bin the mornings?\b|\bfirst thing\b|\bovernight\b|\bwinter\w*"
    r"|\bfirst (?:few )?(?:minutes|miles|kilomet\w+|km|shifts)\b|\buntil (?:it|the \w+) (?:is|gets|has)? ?warm\w*"
    r"|\bkalt\w*|\bkälte\w*|\bmorgens\b|\bam morgen\b|\bin der früh\w*|\bnach dem kaltstart\b|\bkaltstart\w*"
    r"|\bersten (?:paar )?(?:minuten|kilometer\w*|km|meter\w*)\b|\bbis (?:er|es|sie|das \w+) warm\b",
    re.IGNORECASE,
)
_HOT = re.compile(
    r"\bhot(?:ter)?\b|\bwarm\w*|\bafter (?:an|one|half an) hour\b|\bin summer\b|\bmotorway\b|\bafter a long\b"
    r"|\bheiß\w*|\bheiss\w*|\bim sommer\b|\bnach (?:einer|einer halben) stunde\b|\bautobahn\w*|\blanger fahrt\b",
    re.IGNORECASE,
)
_RELIEF = re.compile(
    r"\b(?:fine|better|gone|goes away|ok|okay|good|normal|disappears?|stops?|easier|gut|besser|weg|normal|geht es"
    r"|verschwindet|leichter|ordnung)\b",
    re.IGNORECASE,
)
_PART = re.compile(r"[.;,!?\n]|\bbut\b|\band then\b|\baber\b|\bdann\b")


@dataclass(frozen=True, kw_only=True)
class Hint:
    """temperature : as a job has it; words : the client's, that say so"""

    temperature: str
    words: tuple[str, ...]


def suggest_temperature(complaint: str) -> Hint | None:
    """When a complaint comes, by its words; None where they say nothing of it.

    A part that says what is well again (`fine once it is warm`) speaks for the other state.
    """
    found: dict[str, list[str]] = {COLD: [], HOT: []}
    for part in _PART.split(complaint):
        cold, hot = ([m[0].strip() for m in words.finditer(part)] for words in (_COLD, _HOT))
        well = bool(_RELIEF.search(part))
        if cold and hot and "until" not in part.lower() and "bis " not in part.lower() and not well:
            found[COLD] += cold
            found[HOT] += hot
        elif cold:
            found[HOT if well and not hot else COLD] += cold
        elif hot:
            found[COLD if well else HOT] += hot
    states = [state for state, words in found.items() if words]
    if not states:
        return None
    said = tuple(dict.fromkeys(word for state in states for word in found[state]))
    return Hint(temperature=states[0] if len(states) == 1 else BOTH, words=said)


def say_hint(hint: Hint) -> str:
    """The suggestion as a sentence that leaves the choice."""
    words = ", ".join(f"“{word}”" for word in hint.words)
    return f"The client's words {words} sound like {hint.temperature}. Ask, and choose it if it is so."
