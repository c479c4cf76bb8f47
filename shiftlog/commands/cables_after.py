"""`shiftlog cables BEFORE --after AFTER`: what came of a change of the cables."""

import argparse
from pathlib import Path

from shiftlog.cables.correct_profile import correct_profile, find_corrections
from shiftlog.cables.follow_document import follow_up_to_document
from shiftlog.cables.follow_up import turning_of
from shiftlog.commands.option_types import cable_mm, turns
from shiftlog.commands.progress import show_progress
from shiftlog.commands.several import each_once, refuse_both_sides, refuse_other_cars
from shiftlog.commands.terminal import say, say_left_out, table, write_json
from shiftlog.errors import DriveError, ProfileError
from shiftlog.ingest.car_file import read_car
from shiftlog.model.car import Car
from shiftlog.model.drive import Drive
from shiftlog.model.follow_up import LESS, MORE, SAME, UNKNOWN, FollowUp, GearFollowed, Turning
from shiftlog.pipeline import follow_cables, load_drive

VERDICTS = {SAME: "as foretold", MORE: "more than foretold", LESS: "less than foretold", UNKNOWN: "not known"}
CHANGES = {
    "engage": ("--turned-engage", "--moved-engage"),
    "select": ("--turned-select", "--moved-select"),
}


OTHERWISE = "the advice of the test before; give what was really turned or moved where it was not that"


def add_follow_up(parser: argparse.ArgumentParser) -> None:
    """What following up takes beside the drives before; without a change given, the advice was followed."""
    parser.add_argument(
        "--after", nargs="+", type=Path, metavar="DRIVE",
        help="drive folders with the same test after the cables were changed: what came of it",
    )  # fmt: skip
    for name, (turned, moved) in CHANGES.items():
        one = parser.add_mutually_exclusive_group()
        one.add_argument(turned, type=turns, metavar="TURNS", help=f"what the {name} cable's adjuster was turned")
        one.add_argument(moved, type=cable_mm, metavar="MM", help=f"or how far the {name} cable was moved in its clamp")
    parser.add_argument(
        "--correct-profile",
        type=Path,
        metavar="CAR.TOML",
        help="write the mm per turn that was found into this profile",
    )


def refuse_without_after(args: argparse.Namespace) -> None:
    """What was turned says nothing without a test after it. ProfileError."""
    options = [*(option for pair in CHANGES.values() for option in pair), "--correct-profile"]
    given = [option for option in options if getattr(args, option[2:].replace("-", "_")) is not None]
    if given:
        raise ProfileError(f"{given[0]}: needs --after with the drives that were tested after the cables were changed")


def run_follow_up(args: argparse.Namespace) -> int:
    """Follow a change up, and correct the profile where that is asked for."""
    with show_progress() as progress:
        before, after = ([load_drive(p, progress=progress) for p in side] for side in (args.drives, args.after))
        before, after = each_once(before), each_once(after)
        _refuse_unlike(before, after, args.correct_profile)
        progress("measuring clearances")
        found = follow_cables(before, after, turnings(args, after[-1].car))
    for drive in (*before, *after):
        say_left_out(drive)
    for note in found.notes:
        say(note)
    if turnings(args, after[-1].car) is None:
        say(f"taken as done: {'; '.join(_say_turning(c.turning) for c in found.cables)}; {OTHERWISE}")
    corrections, left = find_corrections(found)
    if args.correct_profile and corrections:
        correct_profile(args.correct_profile, corrections)
    if args.json:
        write_json(follow_up_to_document(found), args.json)
    if args.json != "-":
        print("\n".join(follow_lines(found)))
        print("\n".join(_say_corrections(args.correct_profile, corrections, left)))
    return 0


def _refuse_unlike(before: list[Drive], after: list[Drive], profile: Path | None) -> None:
    """Another car's test says nothing of this one's cables, nor does this one's mm per turn of another's adjusters."""
    cars = [drive.car for drive in (*before, *after)]
    refuse_other_cars(cars)
    refuse_both_sides(before, after)
    if profile is None:
        return
    try:
        refuse_other_cars([*cars, read_car(profile)])
    except DriveError as error:
        raise ProfileError(f"--correct-profile {profile}: is not this car's profile; {error}") from None


def turnings(args: argparse.Namespace, car: Car) -> tuple[Turning, Turning] | None:
    """What was done to both cables, the one not given left alone; None where nothing was given."""
    given = {name: (getattr(args, f"turned_{name}"), getattr(args, f"moved_{name}")) for name in CHANGES}
    if all(value is None for pair in given.values() for value in pair):
        return None
    engage, select = (turning_of(name, car, turns=turns, mm=mm) for name, (turns, mm) in given.items())
    return engage, select


def _say_turning(turning: Turning) -> str:
    """As one would give it: the turns with their sign, else the mm."""
    if not turning.touched:
        return f"{turning.name} cable left alone"
    if turning.turns is not None:
        return f"--turned-{turning.name} {turning.turns:.2f}"
    return f"--moved-{turning.name} {turning.foretold_mm or 0.0:.2f}"


def follow_lines(found: FollowUp) -> list[str]:
    """All that is printed of it."""
    heads = ["gear", "before mm", "foretold mm", "measured mm", "wanted mm", ""]
    lines = [f"{found.car}: {found.why}", "", table(heads, [_row(gear) for gear in found.gears])]
    if found.scale != "absolute":
        lines += [
            "",
            "Travel is relative to the gate's seats: give [gate] mm_per_unit from a ruler to make it absolute.",
        ]
    return [*lines, "", "Before the road:", *(f"{k}. {step}" for k, step in enumerate(found.steps, start=1))]


def _row(gear: GearFollowed) -> list[str]:
    foretold = "" if gear.foretold_mm is None else f"{gear.foretold_mm:.1f}"
    said = gear.why if gear.verdict == UNKNOWN and gear.why else VERDICTS[gear.verdict]
    return [gear.gear, f"{gear.before_mm:.1f}", foretold, f"{gear.after_mm:.1f}", f"{gear.wanted_mm:.1f}", said]


def _say_corrections(profile: Path | None, corrections: dict[str, float], left: tuple[str, ...]) -> list[str]:
    given = ", ".join(f"{key} = {value:g}" for key, value in corrections.items())
    if profile is None:
        return ["", f"By this {given}; --correct-profile car.toml writes it into the profile."] if given else []
    wrote = [f"{profile}: {given} written; all else is as it was."] if given else [f"{profile}: left as it was."]
    return ["", *wrote, *left]
