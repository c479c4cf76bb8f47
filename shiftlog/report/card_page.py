"""The road-test card as a page to print: boxes to tick, and its cautions."""

from importlib.resources import files

from shiftlog.report.card import COLD, DRIVES, HOT, CardPlan, ShiftLine, TestLine
from shiftlog.report.language import KMH, MPH, Language, load_language
from shiftlog.report.markup import Html, tag
from shiftlog.report.parts import bullets, document, section, table
from shiftlog.units import MPS_PER_KMH, MPS_PER_MPH

FAST_MPS = 100 * MPS_PER_KMH
"""Faster than the general limit outside towns in most of Europe."""
_PER = {KMH: MPS_PER_KMH, MPH: MPS_PER_MPH}


def make_card(plan: CardPlan, *, language: str = "en", speed: str = KMH) -> str:
    """The card. StoreError where there is no such language."""
    words = load_language(language)
    title = words.say("card.title", car=plan.car)
    body = [
        tag("h1", title), tag("p", words.say(f"card.side_{plan.side}"), class_="answer"),
        tag("p", state(plan, words), class_="answer"), tag("p", about(plan, words)) if about(plan, words) else None,
        _fields(words), _before(plan, words), _tests(plan, words), _shifts(plan, words, speed),
        section(words.say("card.cautions"), bullets(cautions(words)), kind="cautions"),
        tag("p", words.say("card.back")), tag("p", words.say("card.wanted_why"), class_="soft"),
    ]  # fmt: skip
    style = files("shiftlog.report").joinpath("page.css").read_text(encoding="utf-8")
    return document(title, style, words.code, body)


def state(plan: CardPlan, words: Language) -> str:
    """What was driven, and whether anything is missing."""
    if not plan.drives:
        return words.say("card.have_none")
    key = "card.drives_more" if len(plan.drives) > DRIVES else "card.drives"
    drives = words.say(key, have=len(plan.drives), wanted=DRIVES)
    return words.say("card.complete" if plan.complete else "card.have", drives=drives)


def about(plan: CardPlan, words: Language) -> str:
    """What the complaint is about."""
    symptoms = words.listed([words.say(f"symptom.{s.replace(' ', '_')}") for s in plan.job.symptoms])
    told = "; ".join(part for part in (symptoms, ", ".join(plan.job.shifts)) if part)
    return f"{words.say('card.about')}: {told}" if told else ""


def cautions(words: Language) -> list[str]:
    """All cautions of a road test."""
    return [words.say(f"card.caution_{key}") for key in ("operate", "law", "rev", "stand", "stop")]


def _fields(words: Language) -> Html:
    fields = [tag("span", words.say(f"card.{key}"), ": ", tag("span", class_="write")) for key in ("name", "day", "km")]
    return tag("div", fields, class_="fields")


def _before(plan: CardPlan, words: Language) -> Html:
    keys = ["fix", "mark", "temperature"] + (["night"] if plan.part(COLD) else [])
    keys += ["like"] if plan.side != "before" else []
    return section(words.say("card.before_start"), bullets([words.say(f"card.{key}") for key in keys]))


def _tests(plan: CardPlan, words: Language) -> Html | None:
    if not plan.tests:
        return None
    heads = [words.say(f"card.{key}") for key in ("tests", "count", "missing", "tick")]
    rows = [[words.say(f"card.{t.test}"), t.wanted, missing(t, words), _boxes(t.missing)] for t in plan.tests]
    return section(words.say("card.standing"), table(heads, rows))


def missing(line: ShiftLine | TestLine, words: Language) -> str:
    """How many are missing, or that none is."""
    return str(line.missing) if line.missing else words.say("card.nothing")


def _boxes(n: int) -> Html | str:
    return tag("span", [tag("span", class_="box") for _ in range(min(n, 10))]) if n else "✓"


def _shifts(plan: CardPlan, words: Language, speed: str) -> list[Html]:
    parts = [(part, plan.part(part)) for part in (COLD, HOT) if plan.part(part)]
    alone = len(parts) == 1
    sections = []
    for part, lines in parts:
        title = words.say("card.warm" if alone and part == HOT else f"card.{part}")
        heads = [words.say(f"card.{key}") for key in ("shift", "times", "engine", "speed", "had", "missing", "tick")]
        rows = [_shift_row(line, words, speed) for line in lines]
        sections.append(section(title, table(heads, rows)))
    if plan.redline_rpm:
        limit = words.say("card.limit", rpm=words.number(plan.redline_rpm, digits=9, places=0))
        sections.append(tag("p", limit, class_="soft"))
    return sections


def _shift_row(line: ShiftLine, words: Language, speed: str) -> list[object]:
    todo = line.wanted if len(line.had) < DRIVES else max((line.wanted - n for n in line.had), default=0)
    return [
        tag("b", line.kind.replace("-", " → ")), line.wanted, engine_speed(line, words), road_speed(line, words, speed),
        ", ".join(map(str, line.had)) or "–", missing(line, words), _boxes(todo if line.missing else 0),
    ]  # fmt: skip


def engine_speed(line: ShiftLine, words: Language) -> str:
    """The band of engine speed, or how briskly."""
    if line.rpm is None:
        return words.say("card.any_engine")
    low, high = (words.number(v, digits=9, places=0) for v in line.rpm)
    return words.say("card.rpm_as_before" if line.as_before else "card.rpm", low=low, high=high)


def road_speed(line: ShiftLine, words: Language, speed: str) -> str:
    """The road speed that goes with it, with a caution where it is a fast one."""
    if line.speed_mps is None:
        return "–"
    low, high = (words.number(5 * round(v / _PER[speed] / 5), digits=9, places=0) for v in line.speed_mps)
    told = f"{words.say('number.range', low=low, high=high)} {speed}"
    return f"{told}, {words.say('card.fast')}" if line.speed_mps[1] > FAST_MPS else told
