"""Bare logs brought in by a technician with a browser: chosen, looked at, answered, added, measured."""

import re
import shutil

import pytest
from playwright.sync_api import Page, expect

pytestmark = pytest.mark.browser

SPEED = "time [s],speed\n" + "".join(f"{k * 0.1:.1f},{k % 50}\n" for k in range(600))


@pytest.fixture
def choose():
    def choose_files(page: Page, *files, button: str = "Choose files") -> None:
        with page.expect_file_chooser() as chooser:
            page.get_by_role("button", name=button).click()
        chooser.value.set_files([str(file) for file in files])

    return choose_files


def wait_read(page: Page) -> None:
    expect(page.get_by_role("heading", name="The logs", exact=True)).to_be_visible(timeout=60_000)


def test_two_logs_are_chosen_looked_at_added_and_measured(served_empty, open_page, drive_root, choose):
    page = open_page(served_empty.url)
    page.get_by_role("link", name="Add logs", exact=True).first.click()
    expect(page.get_by_role("heading", level=1)).to_have_text("What did you record?")
    folder = drive_root / "cold-1"
    choose(page, folder / "lever.csv", folder / "bus.csv", folder / "car.toml")
    page.wait_for_url(re.compile(r"/import/[0-9a-f]{16}$"))
    wait_read(page)
    expect(page.get_by_text("They can measure: shift, neutral and baulk times")).to_be_visible()
    recordings = page.locator("article.recording")
    expect(recordings).to_have_count(2)
    for words in ("250 Hz, steps vary by", "drive time is this clock", "no gaps, no sample lost, none clipped"):
        expect(recordings.filter(has_text=words).first).to_be_visible()
    expect(page.get_by_text("Grind – no accelerometer at the gearbox or the lever")).to_be_visible()
    page.get_by_label("Name of the drive").fill("monday")
    page.get_by_label("Stage").fill("before")
    page.get_by_role("button", name="Add to the workshop").click()
    page.wait_for_url(re.compile(r"/car/.*/before/"))
    expect(page.get_by_role("heading", name="The shifts")).to_be_visible(timeout=90_000)
    entry = served_empty.library.drives()[0]
    assert (entry.name, entry.stage, entry.measured) == ("monday", "before", True)
    assert served_empty.library.imports.incoming.pending() == ()
    expect(page.get_by_role("heading", name="What this drive can measure")).to_be_visible()


def test_wrong_and_unclear_files_give_their_lines_and_an_answer_settles(
    served_empty, open_page, drive_root, choose, tmp_path
):
    for name, text in (("photo.jpg", "x"), ("notes.csv", "hello\nno log at all\n"), ("speed.csv", SPEED)):
        (tmp_path / name).write_text(text)
    page = open_page(served_empty.url + "/import")
    choose(page, tmp_path / "photo.jpg")
    expect(page.get_by_role("alert")).to_contain_text("photo.jpg: is no log")
    folder = drive_root / "cold-1"
    names = ("photo.jpg", "notes.csv", "speed.csv")
    choose(page, folder / "lever.csv", folder / "car.toml", *(tmp_path / name for name in names))
    page.wait_for_url(re.compile(r"/import/[0-9a-f]{16}$"))
    wait_read(page)
    expect(page.get_by_text("photo.jpg: is no log")).to_be_visible()
    expect(page.get_by_text("notes.csv: no columns found")).to_be_visible()
    expect(page.get_by_text("names no unit; it may be in km/h or m/s or mph")).to_be_visible()
    expect(page.get_by_role("button", name="Add to the workshop")).to_be_disabled()
    page.get_by_role("combobox", name="unit of speed").fill("km/h")
    page.get_by_role("combobox", name="unit of speed").press("Tab")
    page.get_by_role("button", name="Read again").click()
    expect(page.get_by_text("vehicle_speed from speed (km/h)")).to_be_visible(timeout=60_000)
    expect(page.get_by_role("button", name="Add to the workshop")).to_be_enabled()
    page.locator("article.logfile", has_text="notes.csv").get_by_role("button", name="Take out").click()
    expect(page.get_by_text("notes.csv")).to_have_count(0, timeout=60_000)


def test_offset_axes_and_a_restart_are_said_on_the_page(served_empty, open_page, drive_root, tmp_path):
    folder = tmp_path / "logs"
    folder.mkdir()
    for name in ("lever.csv", "car.toml"):
        shutil.copy(drive_root / "cold-1" / name, folder / name)
    head, *rows = (drive_root / "cold-1" / "bus.csv").read_text().splitlines()
    again = [f"{a.partition(',')[0]},{b.partition(',')[2]}" for a, b in zip(rows, rows[200:], strict=False)]
    (folder / "bus.csv").write_text("\n".join([head, *rows, *again]) + "\n")
    still = "".join(
        f"{k * 0.01:.2f},{0.01 * (k % 3):.2f},{-9.81 + 0.01 * (k % 5):.2f},{0.01 * (k % 7):.2f}\n" for k in range(6000)
    )
    (folder / "phone.csv").write_text("time [s],accel_x [m/s^2],accel_y [m/s^2],accel_z [m/s^2]\n" + still)
    token = served_empty.library.imports.incoming.refer(str(folder))
    page = open_page(f"{served_empty.url}/import/{token}")
    wait_read(page)
    bus = page.locator("article.logfile").filter(has=page.get_by_role("heading", name="bus.csv"))
    phone = page.locator("article.logfile").filter(has=page.get_by_role("heading", name="phone.csv"))
    expect(bus.get_by_text("say below that its clock may start anew")).to_be_visible()
    expect(page.get_by_text("give its clock offset with the log above").first).to_be_visible()
    bus.get_by_label("both parts are of this drive").check()
    phone.get_by_text("Say otherwise").click()
    phone.get_by_label("Clock offset").fill("soon")
    phone.get_by_label("Sensor axes").fill("-z,x,-y")
    page.get_by_role("button", name="Read again").click()
    expect(phone.get_by_text("clock offset soon: is no number of seconds")).to_be_visible(timeout=60_000)
    expect(page.get_by_role("button", name="Add to the workshop")).to_be_disabled()
    phone.get_by_label("Clock offset").fill("12.5")
    page.get_by_role("button", name="Read again").click()
    expect(page.get_by_text("declared: recorder time = drive time + 12.500 s")).to_be_visible(timeout=60_000)
    expect(page.get_by_text("as declared", exact=True)).to_be_visible()
    expect(phone.get_by_label("Sensor axes")).to_have_value("-z,x,-y")
    page.get_by_role("button", name="Add to the workshop").click()
    page.wait_for_url(re.compile(r"/car/"))
    text = (served_empty.library.drives()[0].folder / "drive.toml").read_text(encoding="utf-8")
    assert "clock_offset_s = 12.5" in text and "mounting = [[" in text and "allow_restart = true" in text


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_waiting_logs_fit_a_phone(served_empty, open_page, drive_root, scheme):
    token = served_empty.library.imports.incoming.refer(str(drive_root / "cold-1" / "lever.csv"))
    page = open_page(f"{served_empty.url}/import/{token}", width=390, scheme=scheme)
    wait_read(page)
    page.get_by_text("Say otherwise").click()
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    small = page.locator("button:visible, summary:visible").evaluate_all(
        "all => all.filter(b => b.getBoundingClientRect().height < 43.5).map(b => b.textContent)"
    )
    assert small == []


def test_a_path_that_leads_nowhere_is_one_line_and_one_that_does_is_read(served_empty, open_page, drive_root):
    page = open_page(served_empty.url + "/import")
    page.get_by_label("Paths").fill("/no/such/folder")
    page.get_by_role("button", name="Look at these").click()
    expect(page.get_by_role("alert")).to_contain_text("is no file or folder on this machine")
    page.get_by_label("Paths").fill(str(drive_root / "warm-1"))
    page.get_by_role("button", name="Look at these").click()
    expect(page.get_by_text("the folder is a drive already")).to_be_visible(timeout=60_000)
