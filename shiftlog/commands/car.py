"""`shiftlog car`: make a car's profile, or hold one against a drive."""

import argparse
import sys
import tempfile
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from shiftlog.commands.car_options import PLANES_HELP, ask_missing, changed_car, is_change, new_car
from shiftlog.commands.option_types import positive
from shiftlog.commands.progress import show_progress
from shiftlog.commands.terminal import say_left_out, writing
from shiftlog.errors import ProfileError
from shiftlog.ingest.car_file import read_car, write_car
from shiftlog.model.car import Car
from shiftlog.model.settings import Settings
from shiftlog.pipeline import find_all, load_drive

KMH_PER_MPS = 3.6


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of the command."""
    parser.add_argument("file", type=Path, metavar="FILE", help="the profile to write, or to check, as car.toml")
    parser.add_argument("--name", help="what the car is called")
    parser.add_argument("--planes", help=PLANES_HELP)
    parser.add_argument("--home", help="the plane the lever should come to rest in, or none")
    parser.add_argument("--pitch", type=positive, metavar="MM", help="distance between planes")
    parser.add_argument("--travel", type=positive, metavar="MM", help="forward seat to rearward seat")
    parser.add_argument("--redline", type=positive, metavar="RPM", help="redline")
    parser.add_argument("--ratios", help="1=3.2,2=1.95,…")
    parser.add_argument("--final-drive", type=positive, metavar="RATIO", help="final drive, the same for all gears")
    parser.add_argument("--tyre", help="size as on its side, 205/50R15")
    parser.add_argument(
        "--from-drive", type=Path, metavar="DRIVE", help="learn engine speed over vehicle speed from it"
    )


def run(args: argparse.Namespace) -> int:
    """Make or change the profile, and say what a drive makes of it."""
    if args.file.is_dir():
        raise ProfileError(f"{args.file}: is a folder; name the profile in it, as {args.file / 'car.toml'}")
    there = args.file.is_file()
    if not there:
        ask_missing(args)
    car = read_car(args.file) if there else new_car(args)
    before, car = car, changed_car(car, args)
    if args.from_drive:
        car = _with_learnt(car, args.from_drive)
    if not there or is_change(args) or car.learnt_rpm_per_mps != before.learnt_rpm_per_mps:
        car = _save(car, args.file)
        print(f"Written: {args.file}")
    print("\n".join(_lines(car)))
    return 0


def _save(car: Car, file: Path) -> Car:
    """Written beside, read back, and only then put in place: a wrong profile leaves the old one alone."""
    with writing(file):
        file.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=file.parent) as folder:
            beside = Path(folder) / file.name
            write_car(car, beside)
            car = read_car(beside)
            beside.replace(file)
    return car


def _with_learnt(car: Car, drive_path: Path) -> Car:
    """The car with what a drive says of its gears, if the user wants it; what does not fit is pointed out."""
    with show_progress() as progress:
        drive = replace(load_drive(drive_path, progress=progress), car=car)
        progress("learning from the drive")
        found = find_all(drive, Settings())
    say_left_out(drive)
    for note in found.notes:
        print(note)
    learnt = found.learnt_rpm_per_mps
    if not learnt:
        print(f"{drive_path}: engine and vehicle speed do not tell the ratios of any gear")
        return car
    print(f"{drive_path}: rpm per km/h  {_per_kmh(learnt)}")
    return replace(car, learnt_rpm_per_mps={**car.learnt_rpm_per_mps, **learnt}) if _is_wanted() else car


def _is_wanted() -> bool:
    """On a terminal the user is asked; elsewhere naming the drive is the wish."""
    if not sys.stdin.isatty():
        return True
    try:
        return input("Write these into the profile? [Y/n] ").strip().lower() in ("", "y", "yes")
    except EOFError:
        return False


def _lines(car: Car) -> list[str]:
    lines = [f"{car.name}"]
    if car.gate:
        lines.append(f"  gate     {', '.join(p.name for p in car.gate.planes)}; home {car.gate.home or 'none'}")
    known = {g: r for g in (car.gate.gears if car.gate else car.ratios) if (r := car.rpm_per_mps(g))}
    if known:
        lines.append(f"  rpm per km/h  {_per_kmh(known)}")
    else:
        lines.append(
            "  ratios are not known: over-rev needs them (--ratios --final-drive --tyre, or --from-drive DRIVE)"
        )
    if car.redline_rpm is None:
        lines.append("  the redline is not known: over-rev needs it (--redline)")
    return lines


def _per_kmh(rpm_per_mps: Mapping[str, float]) -> str:
    return ", ".join(f"{gear}: {ratio / KMH_PER_MPS:.1f}" for gear, ratio in rpm_per_mps.items())
