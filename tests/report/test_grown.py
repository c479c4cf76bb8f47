"""A kind of shift that got worse stands in the answer, whatever got better elsewhere."""

import pytest

from shiftlog.report.answer import answer
from shiftlog.report.content import DriveUsed, make_content
from shiftlog.report.language import languages, load_language
from shiftlog.report.page import Wishes, make_page

from .conftest import a_shift
from .test_words import said_by


@pytest.fixture
def occasions(make_result):
    """Before third is refused out of second, after fourth is out of fifth; at the recheck second out of first."""

    def one(name, mark, bad):
        gears = {("2", "3"): 0, ("5", "4"): 20, ("1", "2"): 40}
        outcome = {pair: lambda n, p=pair: "second_push" if p == bad and n < 5 else "clean" for pair in gears}
        shifts = [a_shift(n + at, gears=p, outcome=outcome[p](n)) for p, at in gears.items() for n in range(6)]
        return DriveUsed(id=f"id-{name}", result=make_result(name, shifts=shifts, mark=mark))

    bad = {"b": ("2", "3"), "a": ("5", "4"), "r": ("1", "2")}
    return {side: [one(f"{side}{k}", "0123456789"[3 * at + k], bad[side]) for k in range(3)]
            for at, side in enumerate(bad)}  # fmt: skip


@pytest.mark.parametrize("code", languages())
def test_it_is_named_with_its_counts_in_the_answer_and_at_the_recheck(occasions, code):
    words = load_language(code)
    content = make_content(occasions["b"], occasions["a"], recheck=occasions["r"])
    compared = answer(content, words)[1]
    none, most = words.say("count.of", k=0, n=18), words.say("count.of", k=15, n=18)
    row = words.say("answer.grown_row", what=f"{words.say('measure.refused_share')} 5-4", before=none, after=most)
    assert words.say("answer.grown", list=row) in compared and "2-3" not in compared
    said = said_by(make_page(content, Wishes(language=code)))
    later = words.say("answer.grown_row", what=f"{words.say('measure.refused_share')} 1-2", before=none, after=most)
    assert later in said[said.index(words.say("section.recheck")) :]
