"""Marks on a drive: dragged over the trace, typed, pasted, taken out; the drive's file and its pages follow."""

import pytest
from playwright.sync_api import expect

from dashboard.library import Library
from shiftlog.store.workshop import Workshop

pytestmark = pytest.mark.browser

PICTURE = "document.querySelector('.traces .js-plotly-plot')"
PASTED = """[marks]
began = 2026-10-03T13:05:20.500+00:00
[[test]]
kind = "release"
start_s = 0.000
end_s = 15.000
"""


@pytest.fixture
def marking(tmp_path, drive_root, serve, open_page):
    """Opens the page of the marks of a drive in a workshop of its own; measuring has its tests elsewhere."""
    library = Library(Workshop.open(tmp_path / "workshop"))
    drive_id = library.copy_in(drive_root / "cold-1")
    begun = []
    library.work.begin_anew = lambda key, job: begun.append(key)
    entry = library.entry(drive_id)

    def open_at(**how):
        page = open_page(f"{serve(library)}/car/{entry.car}/{entry.stage}/{drive_id}/marks", **how)
        page.wait_for_function(f"() => {PICTURE} && {PICTURE}._fullData && {PICTURE}._fullData.length > 2")
        return page

    open_at.library, open_at.drive_id, open_at.begun = library, drive_id, begun
    return open_at


def told(marking) -> list[tuple]:
    return [(m.kind, m.start_s, m.end_s, m.configuration) for m in marking.library.marks.of(marking.drive_id)]


def choose(page, name: str) -> None:
    page.get_by_label(name, exact=True).check()


def test_a_span_is_dragged_over_the_trace_and_marked(marking):
    page = marking()
    box = page.locator(".traces .nsewdrag").nth(1).bounding_box()
    last_s = page.evaluate(f"{PICTURE}.layout.xaxis.range[1]")
    page.mouse.move(box["x"] + 0.25 * box["width"], box["y"] + box["height"] / 2)
    page.mouse.down()
    page.mouse.move(box["x"] + 0.5 * box["width"], box["y"] + box["height"] / 2, steps=8)
    page.mouse.up()
    start, end = page.get_by_label("From"), page.get_by_label("To", exact=True)
    expect(start).not_to_have_value("")
    # A pixel of the picture is a tenth of a second and more.
    assert float(start.input_value()) == pytest.approx(0.25 * last_s, rel=0.02)
    assert float(end.input_value()) == pytest.approx(0.5 * last_s, rel=0.02)
    choose(page, "Let-goes")
    page.get_by_label("Set up as (optional)").fill("cables off")
    page.get_by_role("button", name="Mark it").click()
    expect(page.get_by_role("cell", name="Let-goes, cables off")).to_be_visible()
    ((kind, start_s, _, configuration),) = told(marking)
    assert (kind, configuration) == ("release", "cables off") and start_s == pytest.approx(0.25 * last_s, rel=0.02)
    assert marking.begun == [marking.drive_id]


def test_typed_times_are_taken_and_bad_ones_get_one_line(marking):
    page = marking(width=390, scheme="dark")
    page.get_by_role("button", name="Mark it").click()
    expect(page.get_by_role("alert")).to_have_text("which test: none is chosen; choose one")
    choose(page, "Detent")
    page.get_by_label("From").fill("1:10")
    page.get_by_label("To", exact=True).fill("1:05.5")
    page.get_by_role("button", name="Mark it").click()
    expect(page.get_by_role("alert")).to_contain_text("the end, 65.5 s, is not after the start, 70 s")
    assert told(marking) == [] and marking.begun == []
    page.get_by_label("To", exact=True).fill("1:30,5")
    page.get_by_role("button", name="Mark it").click()
    expect(page.get_by_role("cell", name="Detent")).to_be_visible()
    assert told(marking) == [("detent", 70.0, 90.5, None)]


def test_a_mark_is_taken_out_again_and_the_file_is_as_it_was(marking):
    file = marking.library.entry(marking.drive_id).folder / "drive.toml"
    before = file.read_text(encoding="utf-8")
    page = marking()
    choose(page, "Let-goes")
    page.get_by_label("From").fill("20")
    page.get_by_label("To", exact=True).fill("40")
    page.get_by_role("button", name="Mark it").click()
    page.get_by_role("button", name="Take out").click()
    expect(page.get_by_text("No test is marked in this drive yet.")).to_be_visible()
    assert file.read_text(encoding="utf-8") == before and (file.parent / "drive.2.toml").is_file()


def test_pasted_marks_ask_for_the_first_second_where_the_drive_has_no_clock(marking):
    page = marking()
    page.get_by_label("Marks", exact=True).fill(PASTED)
    page.get_by_role("button", name="Add them").click()
    expect(page.get_by_role("alert")).to_contain_text("give the second of the drive at which the first test began")
    page.get_by_label("The first test began at").fill("0:12")
    page.get_by_role("button", name="Add them").click()
    expect(page.get_by_role("cell", name="Let-goes")).to_be_visible()
    assert told(marking) == [("release", 12.0, 27.0, None)]


def test_with_a_clock_the_marks_that_this_device_kept_find_their_own_place(marking):
    file = marking.library.entry(marking.drive_id).folder / "drive.toml"
    text = file.read_text(encoding="utf-8")
    file.write_text(text.replace("[drive]\n", "[drive]\nstarted = 2026-10-03T14:05:00+01:00\n"), encoding="utf-8")
    page = marking()
    page.evaluate("text => localStorage.setItem('shiftlog-marks', text)", PASTED)
    page.get_by_role("button", name="Take the last marks of the prompts").click()
    expect(page.get_by_label("Marks", exact=True)).to_have_value(PASTED)
    page.get_by_role("button", name="Add them").click()
    expect(page.get_by_role("cell", name="Let-goes")).to_be_visible()
    assert told(marking) == [("release", 20.5, 35.5, None)]


def test_a_closer_look_shows_the_chosen_span_with_a_little_around_it(marking):
    page = marking()
    page.get_by_label("From").fill("20")
    page.get_by_label("To", exact=True).fill("28")
    page.get_by_role("button", name="Look closer at it").click()
    page.wait_for_function(f"() => Math.abs({PICTURE}.layout.xaxis.range[0] - 18) < 0.1")
    assert page.evaluate(f"{PICTURE}.layout.xaxis.range[1]") == pytest.approx(30.0, abs=0.1)
    expect(page.get_by_label("From")).to_have_value("20")
    page.get_by_role("button", name="Whole drive").click()
    page.wait_for_function(f"() => {PICTURE}.layout.xaxis.range[1] > 60")


def test_the_drive_leads_to_its_marks_and_they_to_the_results(served, open_page):
    drive_id = served.drive_ids["cold-1"]
    entry = served.library.entry(drive_id)
    page = open_page(f"{served.url}/car/{entry.car}/{entry.stage}/{drive_id}")
    page.get_by_role("link", name="Mark a test").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("What was being done, and when?")
    page.get_by_role("link", name="What the tests say").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("What did the guided tests say?")
    expect(page.get_by_text("No test is marked in this drive")).to_be_visible()
    expect(page.get_by_role("main").get_by_role("link", name="Cards and prompts")).to_be_visible()


def test_marks_prompted_on_a_phone_are_taken_at_the_bench(marking, open_page):
    page = marking()
    home = page.url.split("/car/")[0]
    phone = open_page(f"{home}/guide/lockout", width=390)
    phone.get_by_role("button", name="Start").click()
    phone.wait_for_function("() => document.getElementById('prompt-say').textContent === 'Reach for reverse'")
    phone.wait_for_timeout(700)
    phone.get_by_role("button", name="Stop").click()
    expect(phone.get_by_text("The workshop's server has them.")).to_be_visible()
    page.get_by_role("button", name="Take the last marks of the prompts").click()
    expect(page.get_by_label("Marks", exact=True)).to_have_value(phone.locator("#prompt-marks").input_value())
    phone.get_by_role("button", name="Forget").click()
    phone.wait_for_function("async () => (await (await fetch('/prompted')).text()) === ''")


def test_taps_on_the_trace_begin_and_end_a_span(marking):
    page = marking(width=390)
    page.locator(".traces").scroll_into_view_if_needed()
    box = page.locator(".traces .nsewdrag").nth(1).bounding_box()
    for share in (0.3, 0.6):
        page.touchscreen.tap(box["x"] + share * box["width"], box["y"] + box["height"] / 2)
        page.wait_for_timeout(800)
    last_s = page.evaluate(f"{PICTURE}.layout.xaxis.range[1]")
    assert float(page.get_by_label("From").input_value()) == pytest.approx(0.3 * last_s, rel=0.05)
    assert float(page.get_by_label("To", exact=True).input_value()) == pytest.approx(0.6 * last_s, rel=0.05)
    expect(page.get_by_label("The first test began at")).to_have_value(page.get_by_label("From").input_value())
