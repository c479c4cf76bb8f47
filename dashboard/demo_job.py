"""The demo's job: the record of the visit between its drives, as the shop of `drives_demo/` might write it."""

from dataclasses import replace

from dashboard.library import Library
from shiftlog.model.job import Job, Part, Play, Replaced

COMPLAINT = (
    "When I let go of the lever it stays over on the left. Pushing straight forward for third I got first once. And "
    "third scrapes, most of all when I am in a hurry."
)


def add_demo_job(library: Library) -> None:
    """Write the record in two versions, before and after the work; nothing where the workshop has a job already."""
    drives = library.drives()
    if library.jobs.all() or not drives:
        return
    sides = {side: tuple(entry.id for entry in drives if entry.stage == side) for side in ("before", "after")}
    before = Job(
        car=drives[0].car, order="W-0412", complaint=COMPLAINT, symptoms=("rests wrong", "grinds"),
        shifts=("2-3", "4-3"),        odometer_km=118_600.0, drives_before=sides["before"], reproduced="yes",
        reproduced_notes="The lever rests in the 1-2 plane from both sides, on the road and standing.",
    )  # fmt: skip
    library.jobs.save(library.jobs.new(before, by="Imke"), _after(before, sides["after"]), by="Imke")


def _after(before: Job, drives: tuple[str, ...]) -> Job:
    return replace(
        before, oil="1.8 l, dark, no smell", plug="paste", plug_notes="fine, grey",
        play=(Play(where="lever pivot, sideways", value=0.8, unit="mm"),),
        parts=(
            Part(part="centring spring", wear="off its seat, pulls to the left; pivot dry"),
            Part(part="synchroniser ring, third", wear="grooves flat on half of its face"),
        ),
        replaced=(Replaced(part="synchroniser ring, third"),), fluid="1.9 l of the maker's own",
        engage_turns=-1.0,
        done="Centring spring set back on its seat, pivot greased. Engine mounts left as they are.",
        checked_gears="yes", checked_neutral="yes", checked_lockout="yes", checked_lamp="yes",
        checked_interlock="not checked", drives_after=drives, recheck_km=500.0, signed_by="Imke",
        signed_on="2026-10-12",
    )  # fmt: skip
