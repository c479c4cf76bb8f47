"""Claims that no figure of a road test carries: none of our texts makes them, and no page is made of typed ones."""

import re

from shiftlog.errors import StoreError
from shiftlog.model.job import FIELDS, Job
from shiftlog.report.content import Content

_KM = r"(?:km|kilomet\w+|miles|meilen|years?|months?|jahre?|monate?)\b"
_NUMBER = r"\d[\d.,\s]*"
_PER_CENT = r"\d+\s*(?:%|per ?cent|prozent)\s*"
_SHOPS = r"(?:shop|garage|workshop|mechanic|dealer|fitter|repairer)\w*"
_ENGLISH = (
    r"\bhealth(?:y|ily|iest)?\b", r"\b(?:un)?safe(?:ly|ty)?\b(?! (?:switch|wire|pin|clip|catch|glasses|goggles))",
    r"\b(?:as|like|than|almost|nearly|practically)[ -](?:a )?(?:brand[ -])?new\b", r"\bfactory[ -](?:fresh|new)\b",
    r"\bguarante\w*", r"\bwarrant(?:y|ies|ed|s)\b", r"\broad[ -]?worth\w*", r"\bfit (?:for the road|to drive)\b",
    r"\bharmless\b|\brisk[ -]free\b|\bno (?:risk|danger)\b",
    r"\bin (?:good|full|best|mint) (?:order|condition|shape)\b",
    rf"{_PER_CENT}(?:of )?(?:its |the )?(?:\w+ )?(?:worn|wear|life|left|gone|used|remain\w*)\b",
    r"\bworn\s+(?:to|by)\s+\d",
    r"\b(?:half|thirds?|quarters?)[ -](?:worn|gone|used)\b", r"\b(?:life|wear) (?:left|remaining)\b|\bremaining life\b",
    rf"\b(?:last|lasts|hold|holds|good|do|does|run|runs)\b (?:\w+ ){{0,3}}{_NUMBER}{_KM}", rf"\banother {_NUMBER}{_KM}",
    rf"{_NUMBER}{_KM}\s+(?:left|remain\w*|to go)\b|\b(?:km|miles)\s+(?:left|remain\w*|to go)\b",
    r"\b(?:whose|your|his|her|their|own|driver\W?s|owner\W?s|client\W?s) (?:own )?fault\b|\bat fault\b|\bfault of\b",
    r"\bdriver (?:error|fault|mistake)\w*|\bcaused by (?:the |your |bad )?(?:driver|owner|client|driving)\b|\bblame\w*",
    rf"\b(?:other|another|previous|last|former) {_SHOPS}", r"\bbotch\w*|\bbodg(?:e|ed|ing)\b|\bshoddy\b",
    r"\babus\w*", r"\b(?:mis|over)use\w*|\bmistreat\w*",
    r"\bcured?\b(?! (?:for|at|over)\b)|\bfixed\b(?! (?:with|to|at|by|end|point|stop)\b)|\bperfect\w*|\bflawless\w*"
    r"|\b(?:fault|trouble|problem)[ -]?free\b",
)  # fmt: skip
_GERMAN = (
    r"\bgesund\w*", r"\b(?:un)?sicher(?:e|er|es|en|heit)?\b", r"\b(?:verkehrs|betriebs|fahr)(?:un)?sicher\w*",
    r"\bverkehrst(?:aug|üch)\w*", r"\bgefahrlos\w*|\bungefährlich\w*|\bunbedenklich\w*",
    r"\b(?:wie|fast|nahezu|praktisch) (?:ein(?:em|en|er)? )?neu\w*|\bneuwertig\w*|\bfabrikneu\w*|\bwie am ersten tag\b",
    r"\bgarant\w*", r"\bgewährleist\w*",
    r"\b(?:gut|best|top)\w*\s+zustand\b|\btadellos\w*|\bmängelfrei\w*|\bfehlerfrei\w*",
    rf"{_PER_CENT}(?:\w+ ){{0,2}}(?:verschl\w+|abgenutzt|abnutzung|rest\w*|lebensdauer|übrig)",
    r"\b(?:halb|hälfte|drittel|viertel)\w*\s+(?:verschlissen|abgenutzt)",
    r"\blebensdauer\b|\brestlauf\w*|\brestlebens\w*",
    rf"\b(?:hält|halten|läuft|laufen|schafft|reicht)\b (?:\w+ ){{0,3}}{_NUMBER}{_KM}", rf"\bnoch {_NUMBER}{_KM}",
    r"\b(?:km|kilometer)\s+(?:rest\w*|übrig)", r"\bschuld\w*", r"\bverschulden\w*",
    r"\b(?:andere|vorige|vorherige|letzte|frühere)\w* (?:werkstatt|werkstätten|mechaniker|händler)\w*", r"\bpfusch\w*",
    r"\bmiss?brauch\w*|\bmisshand\w*", r"\b(?:fahr|fahrer|bedien|bedienungs)fehler\w*",
    r"\bgeheilt\b|\bbehoben\b|\bperfekt\w*|\beinwandfrei\w*",
)  # fmt: skip
CLAIMS = tuple(re.compile(pattern, re.IGNORECASE) for pattern in (*_ENGLISH, *_GERMAN))
"""English and German together: a page in one may quote the other."""
_NOT_OURS = ("car", "order", "client", "plate", "vin", "complaint", "signed_by")
"""Names, and the client's own words, which say what he says."""


def claims_in(text: str) -> list[str]:
    """Every claim of a text, as it stands there."""
    return [found[0].strip() for pattern in CLAIMS for found in pattern.finditer(text)]


def find_claims(job: Job) -> list[tuple[str, str]]:
    """(field, claim) in what the workshop wrote itself."""
    typed = [(f.label, getattr(job, f.key)) for f in FIELDS if f.kind in ("text", "long") and f.key not in _NOT_OURS]
    tables = [f for f in FIELDS if f.kind == "table"]
    typed += [
        (f.label, str(getattr(row, name))) for f in tables for row in getattr(job, f.key) for name, _ in f.columns
    ]
    typed += [("Photo", photo.caption) for photo in job.photos]
    return [(label, claim) for label, text in typed for claim in claims_in(text)]


def refuse_claims(content: Content) -> None:
    """No page is made of words that claim more than any figure could. StoreError names the field and the words."""
    told = find_claims(content.version.job) if content.version else []
    rows = content.comparison.rows if content.comparison else ()
    told += [("Test", claim) for group in dict.fromkeys(r.group for r in rows) for claim in claims_in(str(group))]
    if told:
        where = f"job {content.version.id}" if content.version else "page"
        said = "; ".join(f"{label} says {claim!r}" for label, claim in told)
        raise StoreError(f"{where}: {said}: no road test shows that; change the words there, then make the page again")
