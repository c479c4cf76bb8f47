"""What can this setup show: choosing drives, in a browser against the real server."""

import re

import pytest
from playwright.sync_api import expect

pytestmark = pytest.mark.browser

PLOT = "document.querySelector('#repeat-picture .js-plotly-plot')"


@pytest.mark.parametrize("width, scheme", [(1400, "light"), (390, "dark")])
def test_the_answer_the_picture_and_the_table_stand_for_all_drives_at_first(served, open_page, width, scheme):
    page = open_page(f"{served.url}/repeats", width=width, scheme=scheme)
    expect(page.get_by_role("heading", level=1)).to_have_text("What can this setup show?")
    page.wait_for_function(f"() => {PLOT} && {PLOT}._fullData && {PLOT}._fullData.length > 2")
    expect(page.get_by_role("region", name="Repeatability")).to_contain_text("Shift time")
    expect(page.locator(".answer").first).to_contain_text("drives a side")
    expect(page.locator("section", has_text="What is missing for a full study")).to_contain_text("a second driver")
    assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_drives_are_chosen_and_stand_in_the_url(served, open_page):
    page = open_page(served.url)
    page.get_by_role("link", name="Repeat drives").click()
    for name in ("warm-1", "warm-2"):
        page.get_by_label(name).uncheck()
    page.get_by_role("button", name="What do these show?").click()
    page.wait_for_url(re.compile(r"repeat="))
    assert served.drive_ids["warm-1"] not in page.url and served.drive_ids["cold-2"] in page.url
    expect(page.get_by_label("warm-1")).not_to_be_checked()
    expect(page.get_by_label("cold-1")).to_be_checked()


def test_fewer_than_two_ticks_are_refused_where_they_were_made(served, open_page):
    page = open_page(f"{served.url}/repeats")
    for name in ("cold-1", "cold-2", "warm-1"):
        page.get_by_label(name).uncheck()
    page.get_by_role("button", name="What do these show?").click()
    expect(page.get_by_role("alert")).to_contain_text("Tick two drives or more")


def test_an_empty_workshop_says_what_to_do(served_empty, open_page):
    page = open_page(f"{served_empty.url}/repeats")
    expect(page.get_by_role("link", name="Add logs", exact=True).last).to_be_visible()
    expect(page.locator(".empty")).to_contain_text("name the stage and the driver")
