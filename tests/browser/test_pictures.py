"""The pictures of a shift and the grid of gears, in a browser against the real server."""

import threading

import pytest
from playwright.sync_api import Page, expect

from dashboard.__main__ import make_server
from dashboard.library import Library
from dashboard.parts.drive_list import drive_place
from dashboard.routes import write_path
from shiftlog.store.workshop import Workshop
from shiftlog.synth.demo import make_demo_drive

pytestmark = pytest.mark.browser

PICTURES = ("shift-sound", "shift-shock", "shift-swing")


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    """A drive with a body sensor served: where it is, and a shift that has every figure a picture needs."""
    root = tmp_path_factory.mktemp("pictures")
    make_demo_drive("before", seed=5, minutes=2.5).write(root / "drive", stage="before")
    library = Library(Workshop.open(root / "workshop"))
    drive_id = library.copy_in(root / "drive")
    library.measure(drive_id)
    server = make_server(library, host="127.0.0.1", port=0)
    server.prepare()
    thread = threading.Thread(target=server.serve, daemon=True)
    thread.start()
    here = write_path(drive_place(library.entry(drive_id)))
    yield f"http://127.0.0.1:{server.bind_addr[1]}{here}", library.result(drive_id).shifts
    server.stop()
    thread.join(10)


def traces_of(page: Page, name: str) -> list[str]:
    """Names of what a picture holds, once it is drawn."""
    plot = f"document.querySelector('#{name} .js-plotly-plot')"
    page.wait_for_function(f"() => {plot} && {plot}._fullData && {plot}._fullData.length > 0")
    return page.evaluate(f"{plot}._fullData.map(trace => trace.name)")


@pytest.mark.parametrize("width, scheme", [(1400, "light"), (390, "dark")])
def test_a_shift_shows_its_sound_its_shock_and_its_swing(demo, open_page, width, scheme):
    url, shifts = demo
    keys = ("grind", "knock_peak_mps2", "shuffle_hz")
    shift = next(s for s in shifts if all(s.value(key) is not None for key in keys))
    page = open_page(f"{url}/{shift.number}", width=width, scheme=scheme)
    held = {name: traces_of(page, name) for name in PICTURES}
    assert {"sound", "clash, highest tone", "clash, falling"} <= set(held["shift-sound"])
    assert {"the blow", "just before"} == set(held["shift-shock"])
    assert {"measured", "fitted", "envelope"} <= set(held["shift-swing"])
    expect(page.locator("#shift-sound-words")).to_contain_text("Hz at the most")
    expect(page.locator(".figures")).to_contain_text("±")
    assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_a_shift_without_a_figure_says_why_instead_of_an_empty_picture(demo, open_page):
    url, shifts = demo
    shift = next(s for s in shifts if s.value("knock_peak_mps2") is None)
    page = open_page(f"{url}/{shift.number}")
    why = shift.readings["knock_peak_mps2"].why
    expect(page.locator("section", has_text="What the knock shakes").locator(".reason")).to_contain_text(why[1:])
    assert page.locator("#shift-shock").count() == 0


@pytest.mark.parametrize("width", [1400, 390])
def test_the_grid_of_gears_is_readable_and_scrolls_inside_its_box(demo, open_page, width):
    page = open_page(demo[0], width=width)
    grid = page.locator("#gear-grid")
    expect(grid).to_contain_text("2 → 3")
    expect(grid).to_contain_text("n = ")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    sizes = grid.evaluate("box => [box.scrollWidth, box.clientWidth]")
    assert width > 600 or sizes[0] > sizes[1]
    grid.evaluate("box => { box.scrollLeft = 200; }")
    first = grid.locator("tbody th[scope=row]").first
    assert first.bounding_box()["x"] >= grid.bounding_box()["x"] - 1
