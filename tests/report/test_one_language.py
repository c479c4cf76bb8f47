"""A page speaks one language: every text on it comes from that language's file, or is the shop's own.

The proof takes the words out of a language's file and keeps the places in its texts. Whatever can still be read on a
page made with it was written somewhere else: then it must be a name, a unit, a setting or what the shop typed.
"""

import ast
import re
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path
from string import Formatter

import pytest

import shiftlog
from shiftlog.compare.alike import ALIKE
from shiftlog.compare.pairing import compared_measures
from shiftlog.measure.catalogue import MEASURES
from shiftlog.model.car import Car
from shiftlog.model.job import FIELDS, SIDES, Part, Play
from shiftlog.model.recording import PLACES
from shiftlog.model.result import Unable
from shiftlog.model.told import Told, tell
from shiftlog.report import card_page, page
from shiftlog.report.card import plan_card
from shiftlog.report.content import DriveUsed, make_content
from shiftlog.report.kind_words import group_name
from shiftlog.report.lacking import FAMILY, why_missing
from shiftlog.report.language import Language, languages, load_language
from shiftlog.report.page import Wishes, make_page

from .conftest import LAYOUT, a_shift
from .rich_drives import GROUPS, named, report_of, rich_drive

OTHERS = [code for code in languages() if code != "en"]
UNITS = {"mm", "m", "s", "Hz", "ms", "km", "h", "mph", "min", "dB", "s²", "s³", "m²", "s¹", "⁷⁵", "SHA", "p", "n"}
ENGLISH = re.compile(
    r"\b(the|and|of|not|were|with|before|after|drives?|shifts?|only|from|this|that|there|which|side|is|are)\b", re.I
)
MARKS = ("number.decimal", "number.thousands")


class Readable(HTMLParser):
    """What can be read or heard of a page: its text, and the attributes that are shown or spoken."""

    def __init__(self) -> None:
        super().__init__()
        self.said: list[str] = []
        self._mute = 0

    def handle_starttag(self, tag, attrs):
        self._mute += tag in ("style", "script")
        self.said += [value or "" for name, value in attrs if name in ("alt", "title", "aria-label", "data-head")]

    def handle_endtag(self, tag):
        self._mute -= tag in ("style", "script")

    def handle_data(self, data):
        if not self._mute:
            self.said.append(data)


def read(html: str) -> str:
    reader = Readable()
    reader.feed(html)
    return "\n".join(reader.said)


def emptied(code: str) -> Language:
    """A language whose texts hold their places and nothing else; the marks of its numbers stay."""
    texts = {
        key: text if key in MARKS else "\n".join(f"{{{name}}}" for name in places(text))
        for key, text in load_language(code).texts.items()
    }
    return Language(code=code, texts=texts)


def places(text: str) -> list[str]:
    return [name for _, name, _, _ in Formatter().parse(text) if name]


def left_over(text: str, own: str) -> list[str]:
    """Words of two letters and more that are neither the shop's own nor a unit."""
    known = set(re.findall(r"[^\W\d_]{2,}", own)) | UNITS
    return sorted({word for word in re.findall(r"[^\W\d_]{2,}", text) if word not in known})


def own_words(content) -> str:
    """What the shop typed or named: its record, car, drives, logs, and the settings they were measured with."""
    drives = [d.result for _, d in content.all_drives]
    names = [content.car, *(r.head.id for r in drives), *(r.head.driver or "" for r in drives)]
    names += [rec.name for r in drives for rec in r.recordings]
    logs = [f"{f.file} {f.sha256}" for r in drives for f in r.inputs]
    settings = [f"{key} {value}" for r in drives for key, value in r.settings.items()]
    return " ".join([*typed_words(content.version.job), *names, *logs, *settings])


def typed_words(job) -> list[str]:
    """Free text of a record; what was chosen from a list has its words in the language's file."""
    plain = [getattr(job, f.key) for f in FIELDS if f.kind in ("text", "long")]
    rows = [f"{p.where} {p.unit}" for p in job.play] + [f"{p.part} {p.wear}" for p in job.parts]
    rows += [f"{r.part} {r.number}" for r in job.replaced] + [p.caption for p in job.photos]
    return [*plain, *rows, *job.shifts]


@pytest.fixture
def rich(make_result, version):
    """Made comparisons that bring out every caveat, method and reason there is."""

    def make(*, drives=3, temps=(50.0, 75.0), places=("gearbox", "lever"), complaint="", drivers=("Udo", "Ida"),
             tested=(True, True), recheck=0, words="Es hakt", **job):  # fmt: skip
        before = [
            rich_drive(make_result, f"b{k}", "abc"[k], driver=named(drivers[0], k), place=places[0], mmps=200.0,
                       temp_c=temps[0], tested=tested[0])
            for k in range(drives)
        ]  # fmt: skip
        after = [
            rich_drive(make_result, f"a{k}", "def"[k], driver=named(drivers[1], k), place=places[1], mmps=120.0,
                       temp_c=temps[1], rate_hz=800.0, tested=tested[1])
            for k in range(drives)
        ]  # fmt: skip
        again = [
            rich_drive(make_result, f"r{k}", "789"[k], driver="Ida", place=places[1], mmps=140.0, temp_c=temps[1])
            for k in range(recheck)
        ]  # fmt: skip
        plain = replace(version.job, temperature=complaint, complaint=words, oil="dunkel", plug="paste",
                        strainer="none", parts=(Part(part="Konus", wear="glatt"),),
                        play=(Play(where="Gabel", value=0.3, unit="mm"),), **job)  # fmt: skip
        return make_content(before, after, replace(version, job=plain), recheck=again)

    return make


CASES = {
    "two drivers, other places, warmer": {},
    "one drive a side": {"drives": 1},
    "the same driver and place": {"places": ("gearbox", "gearbox"), "drivers": ("Udo", "Udo")},
    "a cold complaint, driven warm": {"complaint": "cold"},
    "a cold complaint, driven cold": {"complaint": "cold", "temps": (5.0, 10.0)},
    "cold before, warm after": {"temps": (5.0, 80.0), "drivers": (None, None)},
    "a complaint that was not seen": {"reproduced": "no", "symptoms": ("refuses", "jumps out")},
    "nobody wrote whether it was seen": {"reproduced": "", "complaint": "both"},
    "a recheck": {"recheck": 3, "symptoms": ("refuses",), "recheck_km": 600.0},
    "a warm recheck of a cold complaint": {"recheck": 1, "complaint": "cold", "temps": (5.0, 10.0)},
    "nobody asked whether it comes cold": {"words": "Es hakt morgens"},
    "a driver on one side only": {"drivers": (("Udo", "Ida", "Ida"), "Ida")},
    "let-goes marked before alone": {"tested": (True, False), "symptoms": ("rests wrong",)},
    "no let-goes marked, into a gear": {"tested": (False, False), "shifts": ("3", "R"), "symptoms": ("refuses",)},
}


@pytest.mark.parametrize("code", languages())
@pytest.mark.parametrize("case", CASES)
def test_every_text_of_a_page_comes_from_its_language_or_from_the_shop(code, case, rich, monkeypatch):
    content = rich(**CASES[case])
    monkeypatch.setattr(page, "load_language", emptied)
    said = read(make_page(content, Wishes(language=code, made="2026-10-12T10:00:00+00:00"), lambda _: b"photo"))
    if code != "en":
        assert left_over(said, own_words(content)) == []
    assert own_words(content) and "Konus" in said


@pytest.mark.parametrize("code", OTHERS)
@pytest.mark.parametrize("case", CASES)
def test_no_english_is_left_on_a_page_in_another_language(code, case, rich):
    said = read(make_page(rich(**CASES[case]), Wishes(language=code), lambda _: b"photo"))
    found = [line for line in said.splitlines() if ENGLISH.search(line) and "depth_low" not in line]
    assert found == []
    assert load_language(code).say("told.unknown") not in said


def test_the_english_page_says_all_particulars(rich):
    said = read(make_page(rich(), Wishes()))
    assert "the gearbox was not heard here" in said
    assert "Recorders sat at gearbox before and at lever after" in said
    assert "Driver Udo before, Ida after" in said


@pytest.mark.parametrize("code", OTHERS)
def test_rows_of_every_verdict_and_reason_speak_it(code, make_row, with_rows, monkeypatch):
    backs = [tell(key, "taken back", wanted=1.0) for key in load_language("en").texts if key.startswith("guard.")]
    rows = [make_row(taken_back=back, verdict="unclear", method=tell("method.welch", "Welch")) for back in backs]
    keys = [*(m.key for m in compared_measures()), *(m.key for m in MEASURES.values() if m.test)]
    rows += [make_row(key, unit=MEASURES[key].unit, method=tell("method.none", "none")) for key in keys]
    rows = [replace(r, left_out=replace(r.left_out, why=())) for r in rows]
    content = with_rows(*rows)
    content = replace(content, comparison=replace(content.comparison, caveats=()))
    monkeypatch.setattr(page, "load_language", emptied)
    assert left_over(read(make_page(content, Wishes(language=code))), own_words(content)) == []


@pytest.mark.parametrize("code", OTHERS)
def test_the_road_test_card_speaks_one_language(code, car_with_gate, version, monkeypatch):
    monkeypatch.setattr(card_page, "load_language", emptied)
    for side in SIDES:
        for symptom in ("refuses", "grinds", "jumps out", "rests wrong", "knocks", "noise", "stiff"):
            job = replace(version.job, symptoms=(symptom,), temperature="both")
            html = card_page.make_card(plan_card(job, car_with_gate, [], side=side), language=code)
            assert left_over(read(html), f"{car_with_gate.name} km") == []


@pytest.fixture
def car_with_gate():
    return Car(name="Test coupe", gate=LAYOUT, redline_rpm=7000.0, ratios={"1": 3.3, "2": 2.0, "3": 1.3, "4": 1.0})


def keys_told() -> dict[str, list[set[str]]]:
    """Every key that is told anywhere, with the names of its values; ``*`` for the part that is only known later."""
    found: dict[str, list[set[str]]] = {}
    for path in Path(shiftlog.__file__).parent.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "tell" and node.args:
                key = node.args[0]
                if isinstance(key, ast.JoinedStr):
                    key = "".join(p.value if isinstance(p, ast.Constant) else "*" for p in key.values)
                else:
                    key = key.value if isinstance(key, ast.Constant) else None
                if key:
                    found.setdefault(key, []).append({word.arg for word in node.keywords})
    return found


@pytest.mark.parametrize("code", languages())
def test_every_sentence_that_is_told_has_its_words_and_its_values(code):
    texts = load_language(code).texts
    assert len(keys_told()) > 40
    for key, values in keys_told().items():
        if "*" in key:
            mine = [one for one in texts if re.fullmatch(re.escape(key).replace(r"\*", r"\w+"), one)]
        else:
            mine = [key] if key in texts else []
        assert mine, key
        assert all(set(places(texts[one])) <= some for one in mine for some in values), key


@pytest.mark.parametrize("code", languages())
def test_keys_that_are_put_together_are_all_there(code):
    words = load_language(code)
    keys = [f"left.outside_{key}" for key in ALIKE] + [f"place.{place}" for place in PLACES]
    keys += [f"left.outcome_{o}" for o in ("missed", "wrong_gear", "out_and_back", "jumped_out", "to_neutral")]
    keys += [f"kind.into_{way}{band}" for way in ("up", "down") for band in ("", "_cold", "_between", "_hot")]
    keys += [f"method.{what}_of_{of}" for what in ("fit", "means") for of in ("medians", "shares")]
    assert [key for key in keys if not words.knows(key)] == []


@pytest.mark.parametrize("code", OTHERS)
def test_what_stood_in_the_way_of_a_figure_is_told_by_its_kind(code, make_result):
    kinds = ("absent", "elsewhere", "clock", "partner", "rate", "axes", "engine speed", "profile", "gate")
    words, found = load_language(code), {}
    for kind in kinds[1:]:
        unable = Unable(name="knock", kind=kind, why="some English reason")
        result = replace(make_result(), recordings=(report_of("gearbox", "box", cannot=(unable,)),))
        found[kind] = words.tell(why_missing([result], "knock_peak_mps2"))
    assert len(set(found.values())) >= 6 and not any("English" in said for said in found.values())
    for measure in FAMILY:
        said = words.tell(why_missing([make_result()], measure))
        assert said != words.say("told.unknown") and not ENGLISH.search(said)


@pytest.mark.parametrize("code", OTHERS)
def test_what_a_row_of_a_test_is_of_has_its_words(code):
    empty = emptied(code)
    for of in (of for groups in GROUPS.values() for of in groups):
        assert left_over(group_name(of, empty), "") == [], of
    assert group_name("2-3 not known", load_language("de")) == "2-3 nicht bekannt"
    assert group_name("clutch up, 20 to 100 Hz", load_language("en")) == "clutch up, 20 to 100 Hz"


def test_a_count_of_a_kind_of_shift_speaks_the_language_of_the_page(make_result, version):
    def drive(name):
        shifts = [replace(a_shift(n, grind=True), paused=True) for n in range(1, 9)]
        return DriveUsed(id=None, result=make_result(name, mark=name, shifts=shifts))

    content = make_content([drive("a")], [drive("b")], version)
    said = read(make_page(content, Wishes(language="de")))
    assert "bei Schaltungen 2-3 mit Pause" in said and "Zähne kratzten, 2-3 mit Pause" in said


@pytest.mark.parametrize("code", languages())
def test_whatever_is_counted_has_its_noun(code):
    words = load_language(code)
    nouns = {"let-go", *(measure.noun for measure in MEASURES.values())}
    assert [noun for noun in nouns if not (words.knows(f"things.{noun}") and words.knows(f"of_things.{noun}"))] == []


def test_a_sentence_without_a_key_is_never_shown_in_another_language():
    words = load_language("de")
    assert words.tell("some plain English") == words.say("told.unknown")
    assert words.tell(tell("no.such_key", "English")) == words.say("told.unknown")
    assert load_language("en").tell("some plain English") == "some plain English"


def test_values_of_a_sentence_wear_the_marks_of_the_language():
    words = Language(code="de", texts=load_language("de").texts | {"x.y": "{a}, {b}, {c}"})
    said = words.tell(Told("1.5", key="x.y", values={"a": 1.5, "b": 1200, "c": tell("kind.rest", "rest")}))
    assert said == f"1,50, 1.200, {words.say('kind.rest')}"
