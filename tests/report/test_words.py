"""The words: the same keys in every language, never more than the verdicts, and never a forbidden claim."""

import ast
import re
from dataclasses import replace
from itertools import product
from pathlib import Path
from string import Formatter

import pytest

import shiftlog
from shiftlog.compare.pairing import compared_measures
from shiftlog.errors import StoreError
from shiftlog.measure.catalogue import MEASURES
from shiftlog.model.comparison import VERDICTS
from shiftlog.model.guided import TEST_KINDS
from shiftlog.model.job import SYMPTOMS, Part, Replaced
from shiftlog.model.reading import measured
from shiftlog.report.answer import answer, hand
from shiftlog.report.content import SHOWN, DriveUsed, make_content
from shiftlog.report.counts import TOLD_TESTS
from shiftlog.report.forbidden import claims_in
from shiftlog.report.language import MPH, languages, load_language
from shiftlog.report.page import Wishes, make_page

CODES = languages()
LESS, MORE = (-0.08, -0.1, -0.05), (0.08, 0.05, 0.1)


def said_by(page: str) -> str:
    """What a page says, without its style and the figures it carries."""
    bare = re.sub(r"<(style|script)[^>]*>.*?</\1>", "", page, flags=re.DOTALL)
    return re.sub(r"<[^>]+>", " ", bare)


def test_there_are_english_and_german():
    assert CODES[:2] == ("en", "de")
    with pytest.raises(StoreError, match="choose en, de"):
        load_language("xx")


@pytest.mark.parametrize("code", CODES)
def test_a_translation_has_the_same_keys_and_places(code):
    english, other = load_language("en").texts, load_language(code).texts
    assert english.keys() == other.keys()
    for key, text in english.items():
        assert places(text) == places(other[key]), key


def places(text: str) -> set[str]:
    return {name for _, name, _, _ in Formatter().parse(text) if name}


@pytest.mark.parametrize("code", CODES)
def test_no_text_of_a_language_makes_a_forbidden_claim(code):
    assert {k: c for k, text in load_language(code).texts.items() if (c := claims_in(text))} == {}


def test_no_sentence_that_another_room_tells_makes_one():
    """An English page shows them as they stand: every text in a function that tells one, but its docstring."""
    texts = set()
    for path in Path(shiftlog.__file__).parent.rglob("*.py"):
        nodes = ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        for function in (n for n in nodes if isinstance(n, ast.FunctionDef)):
            inside = [
                n for statement in function.body[bool(ast.get_docstring(function)) :] for n in ast.walk(statement)
            ]
            if any(isinstance(n, ast.Call) and getattr(n.func, "id", "") == "tell" for n in inside):
                texts |= {n.value for n in inside if isinstance(n, ast.Constant) and isinstance(n.value, str)}
    assert len(texts) > 100 and {text: c for text in texts if (c := claims_in(text))} == {}


@pytest.mark.parametrize(
    "text",
    [
        "the gearbox is healthy", "safe to drive", "shifts as new", "guaranteed for a year", "the cone is 40 % worn",
        "3000 km left in it", "whose fault it is", "another shop damaged it", "the driver's abuse", "the car is fixed",
        "Das Getriebe ist gesund", "sicher zu fahren", "schaltet wie neu", "garantiert", "zu 40 % verschlissen",
        "noch 3000 km übrig", "schuld ist der Fahrer", "eine andere Werkstatt war es", "Missbrauch",
        "der Fehler ist behoben", "in good health", "like a new car", "will last another 50,000 km", "80% of life left",
        "80 % of its life left", "half worn", "two thirds worn", "roadworthy", "good for 3 years",
        "it was the driver's fault",
        "the previous garage botched it", "driver error", "in good order", "verkehrssicher", "wie ein Neuwagen",
        "hält noch 50.000 km", "läuft noch gut 20 000 Kilometer", "halb verschlissen", "80 % der Lebensdauer übrig",
        "betriebssicher", "Bedienfehler", "Pfusch der vorigen Werkstatt", "schaltet wie am ersten Tag", "no risk",
    ],
)  # fmt: skip
def test_forbidden_claims_are_known(text):
    assert claims_in(text)


@pytest.mark.parametrize(
    "text",
    [
        "neutral safety switch checked", "cone ring replaced, new part A-17", "cable bracket fixed with two bolts",
        "thread lock cured for 24 h", "1.9 l, 75W-80", "dull, no grooves, teeth rounded on one side",
        "drove 120 km with it",
        "Sicherungsring neu", "Öl 1,9 l, riecht verbrannt", "Konus glatt, Zähne auf einer Seite rund",
        "Züge neu eingestellt",
        "nach 500 km wiederkommen", "worn at the edge", "oil in the box 2 litres low",
    ],
)  # fmt: skip
def test_plain_findings_and_work_are_no_claims(text):
    assert claims_in(text) == []


@pytest.mark.parametrize("code", CODES)
@pytest.mark.parametrize(("verdict", "provisional"), list(product(VERDICTS, (True, False))))
def test_a_page_makes_no_forbidden_claim_whatever_the_verdict(code, verdict, provisional, make_row, with_rows):
    for (difference, low, high), share in product((LESS, MORE), (False, True)):
        measures = [m for m in SHOWN if m.endswith("_share") == share]
        rows = [
            make_row(m, g, verdict=verdict, provisional=provisional, difference=difference, ci_low=low, ci_high=high)
            for m, g in product(measures, ("all", "2-3"))
        ]
        page = make_page(with_rows(*rows), Wishes(language=code, speed=MPH))
        assert claims_in(said_by(page)) == []


@pytest.mark.parametrize("code", CODES)
def test_the_answer_is_three_sentences_and_calls_nothing_better_that_is_not(code, make_row, with_rows):
    words = load_language(code)
    for verdict, provisional in product(VERDICTS, (True, False)):
        said = answer(with_rows(make_row(verdict=verdict, provisional=provisional)), words)
        assert len(said) == 3 and all(s.endswith(".") for s in said)
        named = {
            v
            for v in VERDICTS
            if words.say(f"answer.{v}", list="", things=words.say("things.shift")).strip(": ") in said[1]
        }
        assert named == {verdict}
        claims = verdict in ("better", "worse", "same") and provisional
        assert (words.say("answer.provisional", said="").strip() in said[1]) == claims
        assert (said[2] == words.say("answer.holds")) == (not claims)


def test_what_got_worse_is_always_named_even_a_detail(make_row, with_rows):
    rows = [make_row(m, verdict="better") for m in SHOWN] + [make_row("knock_energy_m2s3", verdict="worse")]
    assert "worse: energy of the knock" in answer(with_rows(*rows), load_language("en"))[1]


@pytest.mark.parametrize(
    ("lacking", "said"), [((), ""), (("after",), "after the work"), (("before", "after"), "before or")]
)
def test_a_cold_complaint_is_answered_by_cold_drives_alone(lacking, said, make_result, version):
    version = replace(version, job=replace(version.job, temperature="cold"))
    sides = {
        side: [
            DriveUsed(id=None, result=make_result(f"{side}-{cold}", mark=mark, cold=cold))
            for cold, mark in ((True, m), (False, n))
        ]
        for side, m, n in (("before", "a", "b"), ("after", "c", "d"))
    }
    sides = {side: [d for d in some if not (side in lacking and d.result.head.cold)] for side, some in sides.items()}
    content = make_content(sides["before"], sides["after"], version)
    assert content.cold_lacks == lacking
    doubt = answer(content, load_language("en"))[2]
    if lacking:
        assert said in doubt and "stays open" in doubt
    else:
        assert "before-False, after-False" in " ".join(content.cold_said)
        assert "before-False, after-False" in said_by(make_page(content, Wishes()))


def test_what_the_hand_did_is_told_in_every_language(sides, version):
    def with_speed(drive, mmps):
        shifts = [
            replace(s, readings={**s.readings, "approach_speed_mmps": measured("approach_speed_mmps", mmps)})
            for s in drive.result.shifts
        ]
        return replace(drive, result=replace(drive.result, shifts=tuple(shifts)))

    before, after = [with_speed(d, 200.0) for d in sides[0]], [with_speed(d, 140.0) for d in sides[1]]
    content = make_content(before, after, version)
    assert "The hand was 30\N{NO-BREAK SPACE}% gentler after the work" in said_by(make_page(content, Wishes()))
    assert "um 30\N{NO-BREAK SPACE}% sanfter" in hand(content, load_language("de"))
    assert hand(make_content(*sides, version), load_language("en")) == ""


@pytest.mark.parametrize("code", CODES)
def test_one_side_alone_says_nothing_of_a_change(code, sides, version):
    for before, after in ((sides[0], []), ([], sides[1])):
        content = make_content(before, after, version)
        assert answer(content, load_language(code))[1] in (
            load_language(code).say("answer.no_after"), load_language(code).say("answer.no_before"),
        )  # fmt: skip
        assert claims_in(said_by(make_page(content, Wishes(language=code)))) == []


def test_every_symptom_and_field_has_its_word_in_every_language():
    for code, symptom in product(CODES, SYMPTOMS):
        assert load_language(code).say(f"symptom.{symptom.replace(' ', '_')}")
    for code, kind in product(CODES, TEST_KINDS):
        assert load_language(code).say(f"test.{kind}")
    for code, measure in product(CODES, (*compared_measures(), *(m for m in MEASURES.values() if m.test))):
        assert load_language(code).say(f"measure.{measure.key}")
    for code, key in product(CODES, TOLD_TESTS):
        assert load_language(code).say(f"figure.{MEASURES[key].figure}")


def test_a_claim_of_the_workshop_stops_the_page_and_names_its_field_but_not_one_of_the_clients(sides, version):
    def page_of(**fields):
        job = replace(version.job, complaint="I want it as new and safe", signed_by="Safe Gears", **fields)
        return make_page(make_content(*sides, replace(version, job=job)), Wishes())

    assert "I want it as new and safe" in page_of()
    for fields, said in (
        ({"done": "set; shifts as new"}, "Other work says 'as new'"),
        ({"parts": (Part(part="cone", wear="40 % worn"),)}, "Parts and wear says '40 % worn'"),
        ({"replaced": (Replaced(part="ring, guaranteed"),)}, "Parts replaced says 'guaranteed'"),
        ({"photos": (replace(version.job.photos[0], caption="roadworthy"),)}, "Photo says 'roadworthy'"),
        ({"checked_notes": "verkehrssicher"}, "Notes on the checks says 'verkehrssicher'"),
    ):
        with pytest.raises(StoreError, match=f"job 3: {said}: no road test shows that") as caught:
            page_of(**fields)
        assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("value", "en", "de"),
    [(0.3812, "0.381", "0,381"), (128400.0, "128,400", "128.400"), (-0.05, "−0.0500", "−0,0500"), (0.0, "0", "0")],
)
def test_numbers_wear_the_marks_of_the_language(value, en, de):
    assert (load_language("en").number(value), load_language("de").number(value)) == (en, de)


def test_distances_are_in_the_clients_unit():
    # 1 mile = 1.609344 km, exact (1959).
    assert load_language("en").distance(160.9344, MPH) == "100\N{NO-BREAK SPACE}miles"
    assert load_language("de").distance(500.0, "km/h") == "500\N{NO-BREAK SPACE}km"


@pytest.mark.parametrize("code", CODES)
def test_every_none_and_every_all_of_a_sentence_says_what_is_still_possible(code, sides, version):
    """On both sides, wherever a sentence counts: one limit for each count that leaves no doubt by itself."""
    page = make_page(make_content(*sides, version), Wishes(language=code))
    of = {"en": r"(\d+) of (\d+) ", "de": r"(\d+) von (\d+) "}[code]
    told = 0
    for line in re.findall(r"<p[^>]*>(.*?)</p>", page):
        sure = [1 for k, n in re.findall(of, line) if int(k) in (0, int(n))]
        assert len(re.findall({"en": "at most", "de": "höchstens"}[code], line)) >= len(sure), line
        told += len(sure)
    assert told >= 4


@pytest.mark.parametrize(
    ("code", "complaint", "word"),
    [("en", "Stiff overnight", "overnight"), ("de", "Hakt morgens", "morgens"), ("de", "kalt zäh", "kalt")],
)  # fmt: skip
def test_a_complaint_that_may_be_of_the_cold_gearbox_is_not_called_answered(code, complaint, word, sides, version):
    open_ = replace(version, job=replace(version.job, complaint=complaint, temperature=""))
    words, content = load_language(code), make_content(*sides, open_)
    said = answer(content, words)
    assert said[1].startswith(words.say("answer.compared_all", list="").rstrip(" ."))
    assert said[2] == words.say("answer.cold_unsettled", words=words.say("answer.quoted", text=word))
    assert said[0].startswith(words.say("answer.not_cold", said="").strip(" :")[:5].capitalize())
    assert words.say("missing.temperature") in said_by(make_page(content, Wishes(language=code)))
    for settled in ("cold", "hot", "both"):
        version = replace(open_, job=replace(open_.job, temperature=settled))
        assert answer(make_content(*sides, version), words)[2] != said[2]
