"""Which job two sides of drives belong to, so that their comparison knows what the complaint is about."""

from dashboard.library import Library
from shiftlog.model.job import JobVersion

COLD = "cold"


def cold_job(library: Library, before: tuple[str, ...], after: tuple[str, ...]) -> JobVersion | None:
    """The newest job about a cold gearbox that has all of these drives on their sides, or None."""
    for version in library.jobs.all():
        job = version.job
        mine = set(before) <= set(job.drives_before) and set(after) <= {*job.drives_after, *job.drives_recheck}
        if job.temperature == COLD and mine:
            return version
    return None
