"""The page: nothing typed can break it, nothing private leaks from it, and it needs nothing from anywhere."""

import json
import re
from dataclasses import replace
from html.parser import HTMLParser

import pytest

from shiftlog.model.job import Job
from shiftlog.model.told import tell
from shiftlog.report.charts import choose_ticks, draw_strip, draw_tries
from shiftlog.report.language import MPH, languages, load_language
from shiftlog.report.masking import make_mask
from shiftlog.report.page import Wishes, make_page
from shiftlog.report.print_page import find_browser, print_page
from shiftlog.report.provenance import read_page

from .test_words import said_by

EMPTY = {"meta", "img", "br", "line", "rect", "circle", "path", "hr"}


class Tree(HTMLParser):
    """Every element with its attributes, and whether all are closed in order."""

    def __init__(self) -> None:
        super().__init__()
        self.open, self.found = [], []

    def handle_starttag(self, tag, attrs):
        self.found.append((tag, dict(attrs)))
        if tag not in EMPTY:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.found.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        if tag not in EMPTY:
            assert self.open.pop() == tag


def tree_of(page: str) -> Tree:
    tree = Tree()
    tree.feed(page)
    assert tree.open == []
    return tree


@pytest.mark.parametrize("code", languages())
def test_what_was_typed_stays_text_and_the_page_stands_alone(content, code):
    page = make_page(content, Wishes(language=code))
    tree = tree_of(page)
    assert [tag for tag, _ in tree.found].count("script") == 2  # its figures, and unfolding before it is printed
    assert not any(name.startswith("on") for _, attrs in tree.found for name in attrs)
    for _, attrs in tree.found:
        for name in ("src", "href", "action", "data"):
            assert name not in attrs or attrs[name].startswith("data:image/jpeg;base64,")
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in page
    assert len(page) < 300_000


def test_it_can_be_read_on_a_phone_and_printed_on_a4(content):
    page = make_page(content, Wishes())
    assert 'name="viewport" content="width=device-width, initial-scale=1"' in page
    assert "size: A4" in page and "break-inside: avoid" in page


def test_plate_and_vin_are_masked_however_they_are_written(content):
    page = make_page(content, Wishes(), lambda _: b"photo")
    for secret in ("1234", "WVWZZZ1KZ6W000001"):
        assert secret not in re.sub(r'"figures.*', "", page)
    assert page.count("••••34") >= 3 and "••••01" in page
    shown = make_page(content, Wishes(show_plate=True))
    assert "HD-AB 1234" in shown and "WVWZZZ1KZ6W000001" in shown


@pytest.mark.parametrize(
    "written",
    ["hd ab 1234", "HD-AB1234", "log_HD_AB_1234_lever.csv", "(HDAB 1234)", "HDAB1234before-1", "log_hdab12342"],
)
def test_a_plate_is_known_in_any_dress(written):
    assert "1234" not in make_mask(Job(car="x", plate="HD-AB 1234")).text(written)


def test_a_vin_in_small_letters_and_a_signature_are_masked_too(content):
    assert make_mask(None).text("drive_1m8gdm9axkp042788.csv") == "drive_••••.csv"
    job = replace(content.version.job, plate="HD-AB 1234", signed_by="HD AB 1234 Imke")
    page = make_page(replace(content, version=replace(content.version, job=job)), Wishes())
    assert "Imke" in page and "AB 1234" not in page


def test_what_only_looks_alike_is_left_alone():
    mask = make_mask(Job(car="x", plate="AB 12"))
    assert mask.text("cab 123, sha " + "a1" * 32) == "cab 123, sha " + "a1" * 32
    assert mask.text("VIN 1M8GDM9AXKP042788.") == "VIN ••••."  # known check-digit example, as published (ISO 3779)


def test_no_road_speed_no_place_and_no_route(content):
    page = make_page(content, Wishes())
    said = said_by(page)
    assert not re.search(r"km/h|mph|m/s\b(?!\N{SUPERSCRIPT TWO})|latitude|longitude", said)
    assert "vehicle_speed" not in page and "21.7" not in said


@pytest.mark.parametrize("code", languages())
def test_what_differed_between_the_sides_stands_where_the_client_reads_it(content, code):
    swapped = tell("caveat.swapped_days", "all drives after are of earlier days: are the sides right?")
    paced = tell("caveat.engine_slower", "the engine turned 12 % slower", percent=12)
    placed = tell("caveat.placed", "not placed in time: phone.csv", recordings="phone.csv")
    content = replace(content, comparison=replace(content.comparison, caveats=(swapped, paced, placed)))
    said = said_by(make_page(content, Wishes(language=code)))
    words = load_language(code)
    told = said[said.index(words.say("section.cautions")) : said.index(words.say("section.engineer"))]
    assert "12 %" in told and "?." not in told and told.count("?") == 1
    assert "phone.csv" not in told and "phone.csv" in said


def test_counts_stand_before_figures_and_every_zero_has_its_limit(content):
    said = said_by(make_page(content, Wishes()))
    assert said.index("What was counted") < said.index("The figures")
    assert "0 of 18" in said and "21 of 21" in said
    assert said.count("at most") >= 4


def test_what_was_not_measured_and_not_checked_is_told(content):
    said = said_by(make_page(content, Wishes()))
    assert "Lock-out holds: not checked after the work" in said
    assert "Knock at the gearbox: not measured" in said


def test_method_version_settings_and_every_fingerprint_are_there(content):
    said = said_by(make_page(content, Wishes()))
    for mark in "abcdef":
        assert mark * 64 in said
    assert "depth_low 0.1" in said and "0.1.0" in said and "drive medians" in said


def test_the_page_carries_its_figures_and_knows_when_it_was_changed(content, tmp_path):
    page = make_page(content, Wishes())
    path = tmp_path / "page.html"
    path.write_text(page, encoding="utf-8")
    read = read_page(path)
    document = read.document
    assert read.whole
    assert (
        document["figures"]["count home/all/while driving/before/k"],
        document["figures"]["count home/all/while driving/after/n"],
    ) == (0, 21)
    assert document["figures_of_drives"]["after 1"]["count home/all/while driving/n"] == 7
    assert [d["id"] for d in document["drives"]["before"]] == ["id-b0", "id-b1", "id-b2"]
    path.write_text(page.replace("0 of 18", "2 of 18"), encoding="utf-8")
    assert read_page(path).whole is False


def test_miles_go_with_mph(content):
    said = said_by(make_page(content, Wishes(speed=MPH)))
    assert "79,784\N{NO-BREAK SPACE}miles" in said and "311\N{NO-BREAK SPACE}miles" in said


def test_marks_are_as_many_as_tries_and_far_too_many_become_a_bar():
    few = draw_tries([("before", "b", [True, False, True])], title="t")
    assert few.count("<circle") == 3 and few.count('class="before"') == 2
    assert "<circle" not in draw_tries([("before", "b", [True] * 500)], title="t")


def test_pictures_stay_within_their_frame():
    values = [0.21, 0.4, 3.9]
    ticks = {v: str(v) for v in choose_ticks(values)}
    assert min(ticks) <= 0.21 and max(ticks) >= 3.9 and 3 <= len(ticks) <= 7
    drawn = draw_strip([("before", "b", values, 0.4), ("after", "a", values, None)], ticks=ticks, title="t")
    places = [float(x) for x in re.findall(r'(?:cx|x1)="([\d.]+)"|d="M([\d.]+)', drawn) for x in x if x]
    assert places and max(places) <= 340 - 12
    assert choose_ticks([0.3, 0.3])


def test_figures_are_plain_json(content):
    text = re.search(r'id="shiftlog-figures">(.*?)</script>', make_page(content, Wishes()), re.DOTALL)[1]
    assert "<" not in text
    json.loads(text, parse_constant=lambda name: pytest.fail(f"{name} in the figures"))


@pytest.mark.browser
def test_it_prints_to_a_pdf(content):
    if find_browser() is None:
        pytest.skip("no browser of the Chromium family on this machine")
    pdf = print_page(make_page(content, Wishes()))
    assert pdf.startswith(b"%PDF") and len(pdf) < 2_000_000
