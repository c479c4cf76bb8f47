"""What a technician does, done in a browser against the real server."""

import re

import pytest
from playwright.sync_api import Page, expect

pytestmark = pytest.mark.browser

TRACE = "document.querySelector('.traces .js-plotly-plot')"
LEVER = f"{TRACE}._fullData.find(line => line.name === 'engage')"


def open_drive(served, open_page, name: str = "cold-1", **how) -> Page:
    page = open_page(served.url, **how)
    page.get_by_role("link", name=name, exact=True).click()
    expect(page.get_by_role("heading", level=1)).to_have_text("How did the car shift?")
    wait_for_lines(page)
    return page


def wait_for_lines(page: Page) -> None:
    page.wait_for_function(
        f"() => {TRACE} && {TRACE}._fullData && {TRACE}._fullData.some(t => t.name === 'engage' && t.x.length > 10)"
    )


def lever(page: Page) -> dict:
    """How closely the lever is drawn, and between which instants."""
    return page.evaluate(
        f"() => {{ const x = Array.from({LEVER}.x); const first = x[0], last = x[x.length - 1];"
        " return {first, last, step: (last - first) / (x.length - 1)}; }"
    )


def wait_for_lever(page: Page, condition: str) -> None:
    """Waits until what is drawn of the lever (``x``, its instants) meets a condition."""
    page.wait_for_function(f"() => {{ const x = {LEVER}.x; const last = x[x.length - 1]; return {condition}; }}")


def drag(page: Page, share_from: float, share_to: float) -> None:
    box = page.locator(".traces .nsewdrag").nth(2).bounding_box()
    y = box["y"] + box["height"] / 2
    page.mouse.move(box["x"] + share_from * box["width"], y)
    page.mouse.down()
    page.mouse.move(box["x"] + share_to * box["width"], y, steps=8)
    page.mouse.up()


def test_the_list_shows_every_drive_with_its_gate(served, open_page):
    page = open_page(served.url)
    for name in served.drive_ids:
        expect(page.get_by_role("link", name=name, exact=True)).to_be_visible()
    assert page.locator(".picture img").count() == len(served.drive_ids)
    assert page.locator(".picture img").evaluate_all("all => all.every(i => i.complete && i.naturalWidth > 0)")


def test_zoom_refines_the_traces_and_stands_in_the_url(served, open_page):
    page = open_drive(served, open_page)
    whole = lever(page)
    page.locator("#trace-section").scroll_into_view_if_needed()
    drag(page, 0.40, 0.45)
    page.wait_for_url(re.compile(r"from=.*to="))
    wait_for_lever(page, f"last - x[0] < {(whole['last'] - whole['first']) / 10}")
    close = lever(page)
    assert close["step"] < whole["step"] / 4
    # The lever is logged at 250 Hz, and so closely it is now drawn.
    assert close["step"] == pytest.approx(1 / 250, rel=0.1)
    page.get_by_role("button", name="Whole drive").click()
    wait_for_lever(page, f"last > {whole['last'] - 1}")
    assert "from=" not in page.url


def test_a_url_with_a_window_opens_at_that_window_and_back_undoes_a_step(served, open_page):
    page = open_drive(served, open_page)
    page.goto(page.url + "?from=20&to=22")
    page.wait_for_selector("h1")
    wait_for_lines(page)
    assert 19.5 < lever(page)["first"] <= 20.0 and lever(page)["last"] < 22.5
    page.get_by_role("button", name="Later →").click()
    page.wait_for_url(re.compile("from=21.400"))
    page.go_back()
    page.wait_for_url(re.compile("from=20"))
    wait_for_lever(page, "x[0] <= 20")


def test_a_shift_opens_from_the_table_and_arrow_keys_step(served, open_page):
    page = open_drive(served, open_page)
    page.locator("table a.open").nth(1).click()
    expect(page.get_by_role("heading", level=1)).to_have_text("What happened in this shift?")
    assert page.url.endswith("/2")
    wait_for_lines(page)
    page.keyboard.press("ArrowRight")
    page.wait_for_url(re.compile("/3$"))
    expect(page.locator(".crumbs [aria-current]")).to_have_text("shift 3")
    wait_for_lines(page)
    page.keyboard.press("ArrowLeft")
    page.wait_for_url(re.compile("/2$"))
    expect(page.locator(".crumbs [aria-current]")).to_have_text("shift 2")


def test_a_shift_opens_from_its_mark_over_the_traces(served, open_page):
    page = open_drive(served, open_page)
    page.locator("#trace-section").scroll_into_view_if_needed()
    point = page.locator(".traces .scatterlayer .points path").first
    box = point.bounding_box()
    middle = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    # A busy machine may redraw the picture between the hover and the press, which then opens nothing.
    for _ in range(3):
        page.mouse.move(middle[0], middle[1])
        page.mouse.move(middle[0] + 1, middle[1])
        page.wait_for_selector(".traces .hoverlayer .hovertext")
        page.mouse.down()
        page.mouse.up()
        page.wait_for_timeout(1500)
        if re.search(r"/\d+$", page.url.partition("?")[0]):
            break
    expect(page.get_by_role("heading", level=1)).to_have_text("What happened in this shift?")


def test_before_and_after_are_compared_in_words_and_pictures(served, open_page):
    page = open_page(served.url)
    page.get_by_role("button", name="Is it better? Compare").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Is it better?")
    page.wait_for_selector(".strip .js-plotly-plot .scatterlayer")
    expect(page.locator("main")).to_contain_text("provisional")
    assert (
        page.locator(".strip").count() >= 1
        and page.locator(".strip .verdict").count() == page.locator(".strip").count()
    )
    first = page.locator("section h2").nth(1).inner_text()
    page.locator(".tabs a").nth(1).click()
    page.wait_for_url(re.compile("measure="))
    expect(page.locator("section h2").nth(1)).not_to_have_text(first)


def test_comparing_with_nothing_chosen_says_what_to_choose(served, open_page):
    page = open_page(served.url)
    for group in page.locator("fieldset").all():
        group.get_by_text("neither").click()
    page.get_by_role("button", name="Is it better? Compare").click()
    expect(page.get_by_role("alert")).to_contain_text("at least one drive as before and one as after")


def test_units_switch_everywhere_and_stay(served, open_page):
    page = open_drive(served, open_page)
    expect(page.locator("#trace-section")).to_contain_text("Vehicle speed, km/h")
    page.get_by_role("button", name="mph").click()
    page.wait_for_url(re.compile("speed=mph"))
    expect(page.locator("#trace-section")).to_contain_text("Vehicle speed, mph")
    page.locator("table a.open").first.click()
    page.wait_for_url(re.compile("speed=mph"))
    page.get_by_role("link", name="Drives", exact=True).first.click()
    page.wait_for_url(re.compile("speed=mph"))
    page.goto(served.url)
    page.wait_for_url(re.compile("speed=mph"))
    page.get_by_role("button", name="km/h").click()
    page.wait_for_function("() => !location.search.includes('mph')")


def test_the_dark_scheme_reaches_pages_and_pictures(served, open_page):
    page = open_drive(served, open_page, scheme="dark")
    page.wait_for_function(f"() => {TRACE}.layout.font.color === '#eceae4'")
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(18, 21, 24)"
    page.emulate_media(color_scheme="light")
    page.wait_for_function(f"() => {TRACE}.layout.font.color === '#1a1e22'")


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_on_a_phone_nothing_sticks_out_and_targets_are_large_enough(served, open_page, scheme):
    page = open_drive(served, open_page, width=390, scheme=scheme)
    here = page.url
    compare = f"{served.url}/compare?before={served.drive_ids['cold-1']}&after={served.drive_ids['warm-1']}"
    for url in (served.url, here, here + "/2", compare, f"{served.url}/profile"):
        page.goto(url)
        page.wait_for_selector("h1")
        page.wait_for_load_state("networkidle")
        assert page.evaluate("document.documentElement.scrollWidth") <= 390, url
        small = page.evaluate(
            "() => [...document.querySelectorAll('a, button, input[type=text], summary')].filter(e => e.offsetParent)"
            ".map(e => [e.getBoundingClientRect().height, e.outerHTML.slice(0, 80)]).filter(([h]) => h > 0 && h < 43.5)"
        )
        assert small == [], url
        tiny = page.evaluate(
            "() => [...document.querySelectorAll('main *, header *')].filter(e => e.children.length === 0"
            " && e.textContent.trim() && e.getClientRects().length && !e.closest('svg'))"
            ".filter(e => parseFloat(getComputedStyle(e).fontSize) < 16).map(e => e.outerHTML.slice(0, 80))"
        )
        assert tiny == [], url


def test_a_folder_is_added_and_measured_from_the_empty_page(served_empty, drive_root, open_page):
    page = open_page(served_empty.url)
    expect(page.locator("main")).to_contain_text("The workshop is empty")
    page.get_by_role("button", name="Add a drive folder").click()
    expect(page.get_by_role("alert")).to_contain_text("is no folder on this machine")
    page.locator("#folder").fill(str(drive_root / "cold-1"))
    page.get_by_role("button", name="Add a drive folder").click()
    expect(page.locator(".drive")).to_contain_text("shifts", timeout=30_000)
    expect(page.get_by_role("link", name="cold-1", exact=True)).to_be_visible()


def test_a_profile_is_made_with_the_form(served_empty, open_page):
    page = open_page(served_empty.url + "/profile")
    page.wait_for_selector(".preview img")
    page.get_by_label("Name").fill("Test saloon")
    page.get_by_text("6 gears, R left").click()
    expect(page.locator("main")).to_contain_text("5-6")
    page.get_by_label("Final drive").fill("drei")
    page.get_by_role("button", name="Save the profile").click()
    expect(page.get_by_role("alert")).to_contain_text("final drive")
    page.get_by_label("Final drive").fill("4,1")
    page.get_by_role("button", name="Save the profile").click()
    expect(page.get_by_role("status")).to_contain_text("Saved.")
    car = served_empty.library.car("Test saloon")
    assert car.gate.gears == ("R", "1", "2", "3", "4", "5", "6") and car.final_drive["6"] == 4.1


def test_a_wrong_address_leads_back_to_the_drives(served, open_page):
    page = open_page(served.url + "/car/nobody/x/y")
    expect(page.get_by_role("heading", level=1)).to_have_text("There is no such drive")
    page.get_by_role("link", name="All drives").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Which drive do you want to look at?")
