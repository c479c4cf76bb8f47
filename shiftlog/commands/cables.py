"""`shiftlog cables`: clearances of all gears, and the best setting of both cables."""

import argparse
from pathlib import Path

from shiftlog.cables.checks import say_caution
from shiftlog.cables.document import advice_to_document
from shiftlog.cables.say_stops import name_stop
from shiftlog.cables.words import say_across, say_not_pressed
from shiftlog.commands.cables_after import add_follow_up, refuse_without_after, run_follow_up
from shiftlog.commands.progress import show_progress
from shiftlog.commands.several import each_once, refuse_other_cars
from shiftlog.commands.terminal import say, say_left_out, table, write_json
from shiftlog.model.cables import CableAdvice, Clearance, Turned
from shiftlog.pipeline import advise_cables, load_drive


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
        refuse_other_cars([drive.car for drive in drives])
        progress("measuring clearances")
        advice = advise_cables(each_once(drives))
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
    heads = ["gear", "clearance mm", "repeats to mm", "presses", "wanted mm", "after setting mm"]
    rows = [_row(c, advice) for c in advice.clearances]
    if advice.sides_known:
        heads += ["left mm", "right mm"] + (["left then mm", "right then mm"] if advice.knows_across else [])
    lines = [f"{advice.car}: {advice.why}", "", table(heads, rows)]
    lines += _say_scales(advice)
    lines += [said for said in (say_not_pressed(advice), say_across(advice)) if said]
    lines += ["", *(f"{k}. {step}" for k, step in enumerate(advice.steps, start=1))] if advice.steps else []
    if advice.turn_table:
        lines += ["", "From the best setting:", *(_say_turned(turned) for turned in advice.turn_table)]
    return [*lines, "", say_caution(listed=bool(advice.steps))]


def _row(c: Clearance, advice: CableAdvice) -> list[str]:
    """One gear: along the gate, then across it where that was measured anywhere."""
    at = advice.setting.engage_mm, advice.setting.select_mm
    least = "at most " if c.leans else ""
    after = f"{least}{advice.expected[c.gear]:.1f}" if c.gear in advice.expected else "not a gate stop"
    now = f"{least}{c.clearance_mm:.1f}" if c.bound_mm is None else f"under {c.bound_mm:.1f}"
    row = [c.gear, now, _repeats(c), str(c.presses), f"{c.wanted_mm:.1f}", after]
    if not advice.sides_known:
        return row
    sides = (("left", c.left_mm, c.left_bound_mm), ("right", c.right_mm, c.right_bound_mm))
    row += ["" if mm is None else f"{mm:.1f}" if bound is None else f"under {bound:.1f}" for _, mm, bound in sides]
    if not advice.knows_across:
        return row
    then = advice.across_after(*at)
    return row + [_then(then.get((c.gear, side)), at_most=bound is not None) for side, _, bound in sides]


def _then(mm: float | None, *, at_most: bool) -> str:
    return "" if mm is None else f"{'at most ' if at_most else ''}{mm:.1f}"


def _say_scales(advice: CableAdvice) -> list[str]:
    """What the figures are relative to, or rest on."""
    lines = []
    if advice.wanted_from == "assumed":
        lines += ["", "What is wanted is assumed; give [limits] clearance_mm in car.toml for this car."]
    if advice.scale != "absolute":
        lines += ["Travel is relative to the gate's seats: give [gate] mm_per_unit from a ruler to make it absolute."]
    return lines


def _repeats(one: Clearance) -> str:
    if one.bound_mm is not None:
        return "-"
    return f"{one.sd_mm:.1f}" if one.sd_mm >= 0.05 else "under 0.1"


def _say_turned(turned: Turned) -> str:
    change = f"{_turn(turned.setting.engage_turns, 'engage')}{_turn(turned.setting.select_turns, 'select')}"
    beyond = "" if turned.within else "; beyond where the adjuster ends"
    return f"  {change}: smallest margin {turned.smallest_mm:+.1f} mm, in {name_stop(turned.tightest)}{beyond}"


def _turn(turns: float | None, name: str) -> str:
    return f"{turns:+.0f} turn of the {name} cable" if turns else ""
