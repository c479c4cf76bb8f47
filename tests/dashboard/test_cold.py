"""A complaint about the cold gearbox on the pages: suggested in the form, and kept to where its drives are compared."""

import shutil
from types import SimpleNamespace

import pytest

from dashboard.app import page
from dashboard.complaints import cold_job
from dashboard.library import Library
from dashboard.parts.job_form import form_sections
from dashboard.routes import COMPARE, Query
from shiftlog.model.job import Job, JobVersion

from .test_pages import text_of


def version(number=1, **fields) -> JobVersion:
    plain = {"car": "c", "temperature": "cold", "drives_before": ("a", "b"), "drives_after": ("c",)}
    return JobVersion(id=number, version=1, saved="2026-10-12T10:00:00+00:00", by="", job=Job(**(plain | fields)))


def library_of(*versions: JobVersion) -> SimpleNamespace:
    return SimpleNamespace(jobs=SimpleNamespace(all=lambda: versions))


@pytest.mark.parametrize(
    ("sides", "fields", "found"),
    [
        ((("a",), ("c",)), {}, True),
        ((("a", "b"), ("c",)), {}, True),
        ((("a",), ("d",)), {"drives_recheck": ("d",)}, True),
        ((("a",), ("c",)), {"temperature": "hot"}, False),
        ((("a",), ("c",)), {"temperature": ""}, False),
        ((("c",), ("a",)), {}, False),
        ((("a", "x"), ("c",)), {}, False),
    ],
)
def test_the_job_of_two_sides_is_found(sides, fields, found):
    assert (cold_job(library_of(version(**fields)), *sides) is not None) == found


def test_the_form_suggests_and_leaves_the_choice():
    said = text_of(form_sections(version(temperature="", complaint="Stiff in the morning"), [], ["c"]))
    assert "“in the morning” sound like cold" in said
    chosen = text_of(form_sections(version(temperature="hot", complaint="Stiff in the morning"), [], ["c"]))
    assert "sound like" not in chosen


def test_the_comparison_of_a_cold_job_says_what_is_missing(measured_workshop, tmp_path):
    """Two drives with no word of cold: their comparison alone may say what it finds, that of the job may not."""
    library, drive_ids = measured_workshop
    sides = {"before": (drive_ids["before"],), "after": (drive_ids["after"],)}
    plain = text_of(page(COMPARE, Query(**sides), library))
    assert "A complaint about the cold gearbox" not in plain
    own = Library.open(shutil.copytree(library.root, tmp_path / "workshop"))
    car = own.entry(drive_ids["before"]).car
    drives = {"drives_before": sides["before"], "drives_after": sides["after"]}
    begun = own.jobs.new(Job(car=car, temperature="cold", **drives))
    said = text_of(page(COMPARE, Query(**sides), own))
    assert "nothing was driven cold, neither before the work nor after it" in said
    assert "Drive with the gearbox below 40" in said and f"Job {begun.id}" in said
    rows = own.compare(sides["before"], sides["after"], cold=True).rows
    assert not any(row.verdict in ("better", "same") for row in rows)
