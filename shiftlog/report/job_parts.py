"""What the job's record gives the page: complaint, findings, work, checks, photos, signature."""

import base64
from collections.abc import Callable

from shiftlog.model.job import Job, Photo
from shiftlog.report.content import Content
from shiftlog.report.language import Language
from shiftlog.report.markup import Html, tag
from shiftlog.report.masking import Mask, hidden
from shiftlog.report.parts import figure, section, table, told

CHECKS = ("checked_gears", "checked_neutral", "checked_lockout", "checked_lamp", "checked_interlock")
PhotoOf = Callable[[str], bytes | None]
"""A photo by its fingerprint, small enough for a page; None where it is gone."""


def head_part(job: Job, words: Language, mask: Mask, *, speed: str, show_plate: bool) -> Html | None:
    """Whose car it is, as far as it may be shown."""
    masked = (lambda value: value) if show_plate else (lambda value: hidden(value) if value else "")
    km = "" if job.odometer_km is None else words.distance(job.odometer_km, speed)
    return told(
        [
            (words.say("job.order"), mask.text(job.order)), (words.say("job.client"), mask.text(job.client)),
            (words.say("job.plate"), masked(job.plate)), (words.say("job.vin"), masked(job.vin)),
            (words.say("job.odometer"), km),
        ]
    )  # fmt: skip


def choice(value: str, words: Language) -> str:
    """A chosen word in the page's language."""
    return words.say(f"choice.{value.replace(' ', '_')}") if value else ""


def complaint_part(content: Content, words: Language, mask: Mask) -> Html | None:
    """The client's own words, and what they are about."""
    job = content.version.job
    symptoms = words.listed([words.say(f"symptom.{s.replace(' ', '_')}") for s in job.symptoms])
    seen = ", ".join(part for part in (choice(job.reproduced, words), mask.text(job.reproduced_notes)) if part)
    when = words.say("missing.temperature") if content.cold_hint else choice(job.temperature, words)
    about = told(
        [
            (words.say("card.about"), symptoms), (words.say("job.shifts"), ", ".join(job.shifts)),
            (words.say("job.temperature"), when),
            (words.say("job.reproduced"), seen),
        ]
    )  # fmt: skip
    said = tag("p", mask.text(job.complaint), class_="words") if job.complaint else None
    return section(words.say("section.complaint"), said, about) if said or about else None


def found_part(job: Job, words: Language, mask: Mask, photo: PhotoOf) -> Html | None:
    """Oil, plug, strainer, play and parts, with their photos."""
    play = [f"{mask.text(p.where)}: {words.as_typed(p.value)} {p.unit}" for p in job.play]
    parts = [f"{mask.text(p.part)}: {mask.text(p.wear)}".removesuffix(": ") for p in job.parts]
    written = told(
        [
            (words.say("job.oil"), mask.text(job.oil)),
            (words.say("job.plug"), _noted(job.plug, job.plug_notes, words, mask)),
            (words.say("job.strainer"), _noted(job.strainer, job.strainer_notes, words, mask)),
            (words.say("job.play"), "\n".join(play)), (words.say("job.parts"), "\n".join(parts)),
            (words.say("job.other"), mask.text(job.found)),
        ]
    )  # fmt: skip
    pictures = [shown for p in job.photos if (shown := _photo(p, words, mask, photo)) is not None]
    row = tag("div", pictures, class_="pictures") if pictures else None
    return section(words.say("section.found"), written, row, kind="long") if written or row else None


def _noted(chosen: str, notes: str, words: Language, mask: Mask) -> str:
    return ", ".join(part for part in (choice(chosen, words), mask.text(notes)) if part)


def _photo(photo: Photo, words: Language, mask: Mask, read: PhotoOf) -> Html | None:
    data = read(photo.sha256)
    if data is None:
        return None
    title = words.say(f"choice.photo_{photo.of}")
    address = "data:image/jpeg;base64," + base64.b64encode(data).decode()
    picture = tag("img", src=address, alt=mask.text(photo.caption) or title)
    return figure(title, picture, mask.text(photo.caption))


def done_part(job: Job, words: Language, mask: Mask) -> Html | None:
    """What was replaced, turned and filled in."""
    replaced = [f"{mask.text(r.part)} {mask.text(r.number)}".strip() for r in job.replaced]
    turns = [
        "" if value is None else words.say("job.turns", value=("+" if value > 0 else "") + words.as_typed(value))
        for value in (job.engage_turns, job.select_turns)
    ]
    written = told(
        [
            (words.say("job.replaced"), "\n".join(replaced)), (words.say("job.engage_turns"), turns[0]),
            (words.say("job.select_turns"), turns[1]), (words.say("job.fluid"), mask.text(job.fluid)),
            (words.say("job.other"), mask.text(job.done)),
        ]
    )  # fmt: skip
    return section(words.say("section.done"), written) if written else None


def checks_part(job: Job, words: Language, mask: Mask) -> Html | None:
    """What was tried at standstill after the work."""
    rows = [[words.say(f"job.{key}"), choice(getattr(job, key), words)] for key in CHECKS if getattr(job, key)]
    notes = tag("p", mask.text(job.checked_notes)) if job.checked_notes else None
    heads = [words.say("table.what"), words.say("table.after")]
    return section(words.say("section.checks"), table(heads, rows), notes) if rows or notes else None


def signature(job: Job, words: Language, mask: Mask) -> Html | None:
    """Who signed, and when."""
    if not job.signed_by:
        return None
    if job.signed_on:
        return tag("p", words.say("section.signed_on", name=mask.text(job.signed_by), date=words.day(job.signed_on)))
    return tag("p", words.say("section.signed", name=mask.text(job.signed_by)))
