"""Verifying a page: what is the same, what differs, and what cannot be known any more."""

import json
import re
from dataclasses import replace

import pytest

from shiftlog.errors import StoreError
from shiftlog.model.reading import measured
from shiftlog.report.content import DriveUsed, make_content
from shiftlog.report.language import load_language
from shiftlog.report.page import Wishes, make_page
from shiftlog.report.page_words import LOOK, OtherWords, find_other_words
from shiftlog.report.provenance import ReadPage, page_seal, read_page
from shiftlog.report.verify import (
    DriveState,
    LogState,
    Verification,
    compare_with,
    count_carried,
    hold_words,
    is_same,
    make_anew,
    state_of_drive,
)  # fmt: skip

from .conftest import a_rest, a_shift


def compare_anew(document, results):
    return compare_with(document, make_anew(document, results))


@pytest.fixture
def document(content, tmp_path):
    path = tmp_path / "page.html"
    path.write_text(make_page(content, Wishes()), encoding="utf-8")
    return read_page(path).document


@pytest.fixture
def results(sides):
    return {f"{side} {n}": d.result for side, some in zip(("before", "after"), sides, strict=True)
            for n, d in enumerate(some, start=1)}  # fmt: skip


def test_the_same_logs_give_the_same_figures(document, results):
    checked, different = compare_anew(document, results)
    assert checked == count_carried(document) and different == []


def test_repeat_drives_that_a_verdict_leans_on_are_carried_and_needed(sides, version, make_result, results, tmp_path):
    repeats = [make_result(f"r{k}", mark="123"[k], rests=[a_rest("1-2")] * 4) for k in range(3)]
    staged = [replace(r, head=replace(r.head, stage="baseline")) for r in (*repeats[:2], repeats[2])]
    history = [DriveUsed(id=r.head.id, result=r) for r in [*staged, make_result("alone", mark="9")]]
    content = make_content(*sides, version, history=history, limits={"shift_time_s_margin": 0.05})
    assert [d.id for d in content.history] == ["r0", "r1", "r2"]
    path = tmp_path / "page.html"
    path.write_text(make_page(content, Wishes()), encoding="utf-8")
    document = read_page(path).document
    assert document["limits"] == {"shift_time_s_margin": 0.05}
    past = {f"history {n}": r for n, r in enumerate(staged, start=1)}
    checked, different = compare_anew(document, {**results, **past})
    assert checked == count_carried(document) and different == []
    assert compare_anew(document, {**results, **dict(list(past.items())[:2])})[0] < checked


def test_a_figure_that_comes_out_otherwise_is_named(document, results):
    rests = (*results["before 2"].rests[1:], a_rest("3-4"))
    checked, different = compare_anew(document, {**results, "before 2": replace(results["before 2"], rests=rests)})
    named = {d.figure: (d.then, d.now) for d in different}
    assert named["count home/all/while driving/before/k"] == (0, 1)
    assert named["before 2: count home/all/while driving/k"] == (0, 1)
    assert not any(name.startswith("before 1") for name in named)


def test_a_picture_shows_just_the_rests_that_are_counted(document):
    for place, figures in document["figures_of_drives"].items():
        assert len(figures["rests/while driving"]) == figures["count home/all/while driving/n"], place


def test_with_a_drive_gone_what_the_others_say_by_themselves_is_still_held(document, results):
    left = {place: result for place, result in results.items() if place != "after 3"}
    checked, different = compare_anew(document, left)
    assert 0 < checked < count_carried(document) and different == []
    slower = replace(left["before 1"], shifts=tuple(a_shift(n, time_s=0.7) for n in range(1, 9)))
    told = {d.figure for d in compare_anew(document, {**left, "before 1": slower})[1]}
    assert "before 1: alone/shift_time_s" in told and all(figure.startswith("before 1") for figure in told)
    assert compare_anew(document, {}) == (0, [])


def test_a_log_that_is_gone_or_changed_is_told_apart(tmp_path):
    folder = tmp_path / "d"
    folder.mkdir()
    (folder / "car.toml").write_text('format = 1\n[car]\nname = "x"\n')
    recordings = "".join(
        f'[[recording]]\nname = "{n}"\nfile = "{n}.csv"\nplace = "body"\n' for n in ("one", "two", "three")
    )
    (folder / "drive.toml").write_text(f'format = 1\n[car]\nprofile = "car.toml"\n{recordings}')
    (folder / "one.csv").write_text("")
    (folder / "two.csv").write_text("changed")
    empty = "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"  # SHA-256 of nothing (FIPS 180-4)
    drive = {"name": "d", "inputs": [{"file": f"{n}.csv", "sha256": empty} for n in ("one", "two", "three")]}
    drive["inputs"][2]["sha256"] = "0" * 64
    assert [log.state for log in state_of_drive("before 1", drive, folder).logs] == ["unchanged", "changed", "gone"]
    assert {log.state for log in state_of_drive("before 1", drive, None).logs} == {"gone"}


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        (1.0, 1.0000001, True), (1.0, 1.001, False), (0.0, 1e-12, True), ("better", "worse", False), (None, 0.0, False),
        ([1.0, 2.0], [1.0, 2.0], True), ([1.0], [1.0, 2.0], False), (True, 1, True),
        ([[1.0, "3-4"]], [[1.0, "1-2"]], False),
    ],
)  # fmt: skip
def test_what_counts_as_the_same(one, other, same):
    assert is_same(one, other) is same


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (b"<html>nothing</html>", "carries no figures"), (b"\xff\xfe\x00", "is no page of shiftlog"),
        (b'<script type="application/json" id="shiftlog-figures">{"format"</script>', "are damaged"),
        (b'<script type="application/json" id="shiftlog-figures">{"format": 9}</script>', "format 9"),
        (b'<script type="application/json" id="shiftlog-figures">{"format": 3}</script>', "are damaged"),
        (b'<script type="application/json" id="shiftlog-figures">[]</script>', "format None"),
    ],
)  # fmt: skip
def test_what_is_no_page_gets_one_line(tmp_path, text, said):
    path = tmp_path / "page.html"
    path.write_bytes(text)
    with pytest.raises(StoreError, match=said) as caught:
        read_page(path)
    assert "\n" not in str(caught.value)
    with pytest.raises(StoreError, match="cannot be read"):
        read_page(tmp_path / "none.html")


def test_a_page_of_cold_stretches_is_held_against_cold_stretches_even_with_a_drive_gone(sides, version, tmp_path):
    """Every drive warms up half way; figures of the whole drive must not pass for those of its cold part."""

    def warming(drive):
        shifts = [
            replace(s, readings={**s.readings, "gearbox_temp_c": measured("gearbox_temp_c", 10.0 * s.number)})
            for s in drive.result.shifts
        ]
        return replace(drive, result=replace(drive.result, shifts=tuple(shifts)))

    before, after = ([warming(d) for d in side] for side in sides)
    cold = replace(version, job=replace(version.job, temperature="cold"))
    path = tmp_path / "page.html"
    path.write_text(make_page(make_content(before, after, cold), Wishes()), encoding="utf-8")
    document = read_page(path).document
    assert document["cold_only"] and document["figures_of_drives"]["before 1"]["count refused/all/n"] == 3
    logs = {f"{side} {n}": d.result for side, some in (("before", before), ("after", after))
            for n, d in enumerate(some, start=1)}  # fmt: skip
    checked, different = compare_anew(document, logs)
    assert checked == count_carried(document) and different == []
    left = {place: result for place, result in logs.items() if place.startswith("before")}
    checked, different = compare_anew(document, left)
    assert checked > 0 and different == []
    assert len(document["figures_of_drives"]["before 1"]["alone/shift_time_s"]) < len(before[0].result.shifts)


def test_a_fit_that_ends_some_millionths_elsewhere_is_the_same():
    assert is_same([4.86903267], [4.86905014]) and not is_same(4.869, 4.871)


def test_a_page_that_was_emptied_is_not_the_same():
    emptied = Verification(whole=True, made_by="x", drives=(), checked=0, carried=0, different=())
    assert not emptied.same


def read_again(content, tmp_path, edit=lambda text: text, **wishes):
    """A page as somebody edits what can be seen of it, sealed again by himself."""
    path = tmp_path / "edited.html"
    path.write_text(make_page(content, Wishes(**wishes)), encoding="utf-8")
    made = read_page(path)
    text = edit(made.text)
    document = {**made.document, "page": page_seal(text)}
    return ReadPage(text=text, document=document, whole=document["page"] == page_seal(text))


def words_of(page, results, version):
    return hold_words(page, make_anew(page.document, results, version), lambda _: None)


@pytest.mark.parametrize(
    ("code", "old", "new"),
    [
        ("en", "0 of 18", "17 of 18"), ("de", "0 von 18", "17 von 18"), ("en", "Drained oil", "Clean oil"),
        ("en", "brass flakes", "nothing"),
    ],
)  # fmt: skip
def test_words_changed_together_with_the_seal_are_named(content, results, version, tmp_path, code, old, new):
    assert words_of(read_again(content, tmp_path, language=code, speed="mph"), results, version) == ()
    page = read_again(content, tmp_path, lambda text: text.replace(old, new, 1), language=code)
    told = words_of(page, results, version)
    assert page.whole and len(told) == 1
    assert new in told[0].there and new not in told[0].right and old in told[0].right


def test_a_sentence_put_in_one_taken_out_and_another_look_are_told(content, results, version, tmp_path):
    added = read_again(content, tmp_path, lambda t: t.replace("</h1>", "</h1><p>It runs well.</p>", 1))
    assert [(w.there, w.right) for w in words_of(added, results, version)] == [("It runs well.", "")]
    caution = load_language("en").say("caution.wear")
    without = read_again(content, tmp_path, lambda t: t.replace(f"<li>{caution}</li>", "", 1))
    assert [(w.there, w.right) for w in words_of(without, results, version)] == [("", caution)]
    moved = read_again(content, tmp_path, lambda t: t.replace("main {", 'h1::after { content: "well" } main {', 1))
    assert [w.there for w in words_of(moved, results, version)] == [LOOK]


def test_a_fit_that_ended_elsewhere_moves_a_last_digit_and_no_count():
    def told(one, other):
        return find_other_words(f"<p>{one}</p>", f"<p>{other}</p>", exact=False)

    assert told("shorter by 0.080 s", "shorter by 0.081 s") == ()
    assert told('</p><circle cx="10.2"/><p>', '</p><circle cx="10.3"/><p>') == ()
    for one, other in (("0.080 s", "0.082 s"), ("0 of 20", "1 of 20"), ("better by 0.080", "worse by 0.080")):
        assert [w.there for w in told(one, other)] == [one]
    assert told('</p><circle cx="10.2"/><p>', '</p><circle cx="90.3"/><p>')
    assert find_other_words("<p>0.080 s</p>", "<p>0.081 s</p>", exact=True)


def test_a_page_is_as_it_was_made_only_where_its_words_were_held():
    held = {"whole": True, "made_by": "x", "drives": (), "checked": 1, "carried": 1, "different": ()}
    drive = DriveState(place="before 1", name="d", folder=None, logs=(LogState(file="a", state="unchanged"),))
    for words, same in (((), True), (None, False), ((OtherWords(there="a", right="b"),), False)):
        assert Verification(**{**held, "drives": (drive,)}, words=words).same is same


@pytest.mark.parametrize(
    "change",
    [
        {"job": 3}, {"job": {"id": 3}},
        {"job": {"id": 2**70, "version": 1, "shifts": [], "symptoms": [], "temperature": ""}},
        {"job": {"id": "3", "version": 1, "shifts": [], "symptoms": [], "temperature": ""}},
        {"job": {"id": 3, "version": 1, "shifts": "2-3", "symptoms": [], "temperature": ""}},
        {"job": {"id": 3, "version": 1, "shifts": [], "symptoms": ["odd"], "temperature": ""}}, {"limits": None},
        {"limits": {"shift_time_s_margin": "much"}}, {"figures": []}, {"figures_of_drives": {"before 1": 3}},
        {"language": "xx"}, {"speed": 3}, {"drives": {}}, {"drives": {"before": [{}]}}, {"page": None},
        {"cold_only": "no"},
    ],
)  # fmt: skip
def test_a_damaged_block_is_one_line_that_names_it(content, tmp_path, change):
    path = tmp_path / "page.html"
    text = make_page(content, Wishes())
    path.write_text(text, encoding="utf-8")
    document = json.dumps({**read_page(path).document, **change})
    path.write_text(re.sub(r'(id="shiftlog-figures">).*?(</script>)', lambda m: m[1] + document + m[2], text))
    with pytest.raises(StoreError, match=f"figures are damaged .{next(iter(change))}"):
        read_page(path)


def test_a_setting_that_the_program_has_had_since_changes_no_word_of_an_older_page(content, version, results, tmp_path):
    path = tmp_path / "page.html"
    path.write_text(make_page(content, Wishes()), encoding="utf-8")
    later = {place: replace(r, settings={**r.settings, "had_since": 1.0}) for place, r in results.items()}
    page = read_page(path)
    assert hold_words(page, make_anew(page.document, later, version), lambda _: None) == ()
