"""A job as a technician fills it in with a browser: begun, written, photographed, printed."""

import re

import pytest
from PIL import Image
from playwright.sync_api import expect

from shiftlog.model.job import Job

pytestmark = pytest.mark.browser


def test_a_job_is_begun_filled_in_and_its_page_made(served, open_page, tmp_path):
    Image.new("RGB", (60, 40), "gold").save(tmp_path / "plug.png")
    page = open_page(served.url + "/job")
    page.get_by_label("The complaint, in the client's own words").fill("Third <i>grinds</i>")
    page.get_by_role("button", name="Begin the job").click()
    page.wait_for_url(re.compile(r"/job/\d+$"))
    expect(page.get_by_label("The client's own words")).to_have_value("Third <i>grinds</i>")
    page.get_by_label("Which shifts").fill("2-3")
    page.get_by_label("Measured play, Where, row 1").fill("fork to sleeve")
    page.get_by_label("Measured play, Play, row 1").fill("0,35")
    page.get_by_label("Measured play, Unit, row 1").fill("mm")
    for group, name in (("Drives before the work", "cold-1"), ("Drives after the work", "warm-1")):
        page.get_by_role("group", name=group).get_by_label(re.compile(f"^{name}")).check()
    with page.expect_file_chooser() as chooser:
        page.get_by_role("button", name="Add a photo").click()
    chooser.value.set_files(str(tmp_path / "plug.png"))
    expect(page.locator("#job-photos-new img")).to_be_visible()
    page.get_by_role("button", name="Save as a new version").click()
    expect(page.get_by_text(re.compile(r"^Version 4 of")).first).to_be_visible()
    job = served.library.jobs.all()[0].job
    assert (job.shifts, job.play[0].value, len(job.photos), len(job.drives_after)) == (("2-3",), 0.35, 1, 1)
    page.get_by_role("link", name=re.compile("Client's page")).click()
    frame = page.frame_locator("iframe")
    expect(frame.get_by_text("Third <i>grinds</i>")).to_be_visible(timeout=30_000)
    page.get_by_label("Deutsch").check()
    expect(frame.get_by_role("heading", name="Die Beanstandung")).to_be_visible(timeout=30_000)


@pytest.mark.parametrize("what", ["", "/card", "/report"])
def test_no_page_of_a_job_is_wider_than_a_phone(served, open_page, what):
    drives = {"drives_before": served.drive_ids["cold-1"], "drives_after": served.drive_ids["warm-1"]}
    jobs = served.library.jobs
    begun = jobs.all()[0] if jobs.all() else jobs.new(_job(served))
    jobs.set(begun.id, drives)
    page = open_page(f"{served.url}/job/{begun.id}{what}", width=390, scheme="dark")
    if what:
        expect(page.frame_locator("iframe").get_by_role("heading", level=1)).to_be_visible(timeout=30_000)
        inner = page.frames[1].evaluate("document.documentElement.scrollWidth <= innerWidth")
        assert inner
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


def _job(served):
    return Job(car=served.library.cars()[0])
