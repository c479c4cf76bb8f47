"""The client's page: one file that needs nothing from anywhere, for a screen, a phone or paper."""

from dataclasses import dataclass
from datetime import UTC, datetime
from importlib.resources import files

from shiftlog import __version__
from shiftlog.compare.cold_stretch import say_wanted
from shiftlog.model.told import Told
from shiftlog.report.answer import answer, capital, counts_answered, hand, sentence
from shiftlog.report.content import Content
from shiftlog.report.count_words import count_clause
from shiftlog.report.counts import on_both_sides
from shiftlog.report.engineer import engineer_part
from shiftlog.report.forbidden import refuse_claims
from shiftlog.report.job_parts import (
    CHECKS,
    PhotoOf,
    checks_part,
    complaint_part,
    done_part,
    found_part,
    head_part,
    signature,
)  # fmt: skip
from shiftlog.report.language import KMH, Language, load_language
from shiftlog.report.markup import Html, tag
from shiftlog.report.masking import Mask, make_mask
from shiftlog.report.parts import bullets, document, section
from shiftlog.report.pictures import pictures
from shiftlog.report.provenance import place_of_figures, seal_page
from shiftlog.report.recheck import recheck_part
from shiftlog.report.row_words import measure_name
from shiftlog.report.tables import counts_table, figures_table
from shiftlog.report.telling import name_others, telling_rows

_OF_THE_DAY = ("swapped_stages", "swapped_days", "one_day", "temperature", "driver", "engine_faster", "engine_slower")
OF_THE_DAY = tuple(f"caveat.{key}" for key in _OF_THE_DAY)
"""What differed between the sides and is not the work: a client has to know it to read the answer."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Wishes:
    """How the page is wanted. speed : ``km/h`` or ``mph``

    made : ISO 8601, or None for now; by : the version of shiftlog that it names as its maker
    """

    language: str = "en"
    speed: str = KMH
    show_plate: bool = False
    made: str | None = None
    by: str = __version__


def make_page(content: Content, wishes: Wishes, photo: PhotoOf = lambda _: None) -> str:
    """The whole page, sealed, with its figures inside. StoreError: no such language, or a claim nobody may make."""
    refuse_claims(content)
    words = load_language(wishes.language)
    job = content.version.job if content.version else None
    mask = make_mask(job, show=wishes.show_plate)
    made = wishes.made or datetime.now(UTC).isoformat(timespec="seconds")
    title = mask.text(words.say("section.title" if content.after else "section.title_one", car=content.car))
    body = [
        tag("h1", title), _head(content, words, wishes, mask),
        complaint_part(content, words, mask) if job else None,
        section(words.say("section.question"), [tag("p", line, class_="answer") for line in answer(content, words)]),
        _counts(content, words), pictures(content, words), _figures(content, words),
        found_part(job, words, mask, photo) if job else None, done_part(job, words, mask) if job else None,
        checks_part(job, words, mask) if job else None,
        recheck_part(content, words, mask, speed=wishes.speed),
        _not_measured(content, words, mask), _cautions(content, words, mask),
        signature(job, words, mask) if job else None,
        engineer_part(content, words, mask), _footer(content, words, made, wishes.by), place_of_figures(),
    ]  # fmt: skip
    style = files("shiftlog.report").joinpath("page.css").read_text(encoding="utf-8")
    page = document(title, style, words.code, body)
    asked = {"language": wishes.language, "speed": wishes.speed, "show_plate": wishes.show_plate}
    return seal_page(page, content, mask, shiftlog=wishes.by, made=made, wishes=asked)


def _head(content: Content, words: Language, wishes: Wishes, mask: Mask) -> Html | None:
    if content.version is None:
        return None
    return head_part(content.version.job, words, mask, speed=wishes.speed, show_plate=wishes.show_plate)


def _counts(content: Content, words: Language) -> Html | None:
    if not content.counts:
        return None
    answered = [] if content.cold_lacks or content.cold_hint else counts_answered(content)
    more = [
        tag("p", sentence([count_clause(c, words)])) for c in on_both_sides(content.counts[1:3]) if c not in answered
    ]
    sides = [(side, content.counts, side) for side in ("before", "after")]
    return section(words.say("section.counts"), more, counts_table(sides, words), kind="long")


def _figures(content: Content, words: Language) -> Html | None:
    if not content.headline:
        return None
    told = hand(content, words)
    note = tag("p", told) if told else None
    rows, others = telling_rows(content)
    table = figures_table(rows, words) if rows else None
    return section(words.say("section.figures"), note, table, name_others(others, words), kind="long")


def _not_measured(content: Content, words: Language, mask: Mask) -> Html:
    said = []
    for gap in content.missing:
        name = measure_name(gap.measure, words)
        name = name[:1].upper() + name[1:]
        if gap.side:
            said.append(words.say("missing.one_side", measure=name, side=words.say(f"side.{gap.side}")))
        else:
            said.append(words.say("missing.never", measure=name))
    said += _cold_lines(content, words, mask)
    if content.version and content.after:
        job = content.version.job
        open_checks = [key for key in CHECKS if getattr(job, key) in ("", "not checked")]
        said += [words.say("missing.check", check=words.say(f"job.{key}")) for key in open_checks]
    return section(words.say("section.not_measured"), bullets([*said, words.say("missing.rest")]))


def _cold_lines(content: Content, words: Language, mask: Mask) -> list[str]:
    """For a complaint about the cold gearbox: what counted, what was left aside, and what has to be driven."""
    said = [mask.text(capital(words.tell(one))) for one in content.cold_said]
    if content.cold_lacks:
        said.append(capital(words.tell(say_wanted())))
    if content.version and content.after and not content.version.job.reproduced:
        said.append(words.say("missing.reproduced"))
    return said


def _cautions(content: Content, words: Language, mask: Mask) -> Html:
    """What else differed between the sides, then what no such page can say."""
    caveats = content.comparison.caveats if content.comparison else ()
    told = [words.tell(one) for one in caveats if isinstance(one, Told) and one.key in OF_THE_DAY]
    said = [mask.text(capital(text if text.endswith("?") else f"{text}.")) for text in told]
    keys = ["certificate", "cause", "driver", "wear", "again"] + (["text"] if content.version else [])
    lines = [*said, *(words.say(f"caution.{k}") for k in keys)]
    return section(words.say("section.cautions"), bullets(lines), kind="cautions")


def _footer(content: Content, words: Language, made: str, by: str) -> Html:
    text = words.say("footer.made", version=by, date=words.day(made))
    if content.version:
        text += " " + words.say("footer.page", job=content.version.id, version=content.version.version)
    return tag("footer", tag("p", text))
