"""Claims that no figure of a road test carries: none of our texts makes them, and typed ones are told."""

import re

from shiftlog.model.job import FIELDS, Job

CLAIMS = tuple(
    re.compile(pattern, re.IGNORECASE)
    for pattern in (
        r"\bhealth(?:y|ily)\b", r"\b(?:un)?safe(?:ly|ty)?\b", r"\b(?:as|like|good as)[ -]new\b", r"\bguarante\w*",
        r"\bwarrant(?:y|ies|ed)\b", r"\d+\s*(?:%|per ?cent)\s*(?:worn|wear|life|left)\b", r"\bworn\s+(?:to|by)\s+\d",
        r"\b(?:km|kilomet\w+|miles)\s+(?:left|remain\w*|to go)\b", r"\bfault of\b|\bwhose fault\b|\bat fault\b",
        r"\bblame\w*", r"\b(?:other|another|previous|last) (?:shop|garage|workshop|mechanic)\w*", r"\babus\w*",
        r"\b(?:mis|over)use\w*", r"\bcured?\b|\bfixed\b|\bperfect\w*",
        r"\bgesund\w*", r"\b(?:un)?sicher(?:e|er|es|en|heit)?\b", r"\b(?:wie|fast) neu\b|\bneuwertig\w*",
        r"\bgarant\w*",
        r"\bgewährleist\w*", r"\d+\s*(?:%|prozent)\s*(?:verschli\w+|abgenutzt|rest)",
        r"\b(?:km|kilometer)\s+(?:rest\w*|übrig)",
        r"\brestlauf\w*|\brestlebens\w*", r"\bschuld\w*", r"\bverschulden\w*",
        r"\b(?:andere\w*|vorige\w*|letzte\w*) (?:werkstatt|mechaniker)\w*", r"\bmiss?brauch\w*", r"\bfahrfehler\w*",
        r"\bgeheilt\b|\bbehoben\b|\bperfekt\w*|\beinwandfrei\w*",
    )
)  # fmt: skip
"""English and German together: a page in one may quote the other."""
_OWN_WORDS = ("reproduced_notes", "oil", "plug_notes", "strainer_notes", "found", "done", "checked_notes",
              "recheck_notes", "fluid")  # fmt: skip
"""Texts of the workshop; the complaint is the client's and says what he says."""


def claims_in(text: str) -> list[str]:
    """Every claim of a text, as it stands there."""
    return [found[0] for pattern in CLAIMS for found in pattern.finditer(text)]


def find_claims(job: Job) -> list[tuple[str, str]]:
    """(field, claim) in what the workshop wrote itself."""
    labels = {f.key: f.label for f in FIELDS}
    typed = [(labels[key], getattr(job, key)) for key in _OWN_WORDS]
    typed += [(labels["parts"], part.wear) for part in job.parts]
    return [(label, claim) for label, text in typed for claim in claims_in(text)]
