"""`shiftlog cables`: clearances of all gears, and the best setting of both cables."""

import argparse
from pathlib import Path

from shiftlog.cables.document import advice_to_document
from shiftlog.cables.words import NOT_ACROSS
from shiftlog.commands.cables_after import add_follow_up, refuse_without_after, run_follow_up
from shiftlog.commands.progress import show_progress
from shiftlog.commands.terminal import say, say_left_out, table, write_json
from shiftlog.model.cables import CableAdvice
from shiftlog.pipeline import advise_cables, load_drive

CAUTION = (
    "Common practice, no source, and no diagnosis. Work under a car is for trained people; after any change every "
    "gear, neutral and the lock-out are checked at standstill before the road."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of the command."""
    parser.add_argument("drives", nargs="+", type=Path, metavar="DRIVE", help="drive folders with a clearance test")
    parser.add_argument("--json", metavar="FILE", help="write the answer there; - for standard output")
    add_follow_up(parser)


def run(args: argparse.Namespace) -> int:
    """Measure the clearances, and print or write what follows from them."""
    if args.after:
        return run_follow_up(args)
    refuse_without_after(args)
    with show_progress() as progress:
        drives = [load_drive(path, progress=progress) for path in args.drives]
        progress("measuring clearances")
        advice = advise_cables(drives)
    for drive in drives:
        say_left_out(drive)
    for note in advice.notes:
        say(note)
    if args.json:
        write_json(advice_to_document(advice), args.json)
    if args.json != "-":
        print("\n".join(advice_lines(advice)))
    return 0


def advice_lines(advice: CableAdvice) -> list[str]:
    """All that is printed of it."""
    rows = [
        [
            c.gear, f"{c.clearance_mm:.1f}", _repeats(c.sd_mm), str(c.presses), f"{c.wanted_mm:.1f}",
            f"{advice.expected[c.gear]:.1f}" if c.gear in advice.expected else "not a gate stop",
        ]
        for c in advice.clearances
    ]  # fmt: skip
    lines = [f"{advice.car}: {advice.why}", ""]
    lines += [table(["gear", "clearance mm", "repeats to mm", "presses", "wanted mm", "after setting mm"], rows)]
    if advice.wanted_from == "assumed":
        lines += ["", "What is wanted is assumed; give [limits] clearance_mm in car.toml for this car."]
    if advice.scale != "absolute":
        lines += ["Travel is relative to the gate's seats: give [gate] mm_per_unit from a ruler to make it absolute."]
    lines += [] if advice.knows_across else [f"{NOT_ACROSS[0].upper()}{NOT_ACROSS[1:]}."]
    lines += ["", *(f"{k}. {step}" for k, step in enumerate(advice.steps, start=1))] if advice.steps else []
    if advice.turn_table:
        lines += ["", "From the best setting:"]
        lines += [
            f"  {_turn(t.setting.engage_turns, 'engage')}{_turn(t.setting.select_turns, 'select')}: "
            f"smallest margin {t.smallest_mm:+.1f} mm"
            for t in advice.turn_table
        ]
    return [*lines, "", CAUTION]


def _repeats(sd_mm: float) -> str:
    return f"{sd_mm:.1f}" if sd_mm >= 0.05 else "under 0.1"


def _turn(turns: float | None, name: str) -> str:
    return f"{turns:+.0f} turn of the {name} cable" if turns else ""
