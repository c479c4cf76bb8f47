"""`shiftlog car`: make a car's profile, or hold one against a drive."""

import argparse
import sys
import tempfile
from dataclasses import replace
from pathlib import Path

from shiftlog.commands.terminal import clear_progress, make_progress, say_left_out
from shiftlog.errors import ProfileError
from shiftlog.ingest.car_file import read_car, write_car
from shiftlog.ingest.tyre import rolling_radius_m
from shiftlog.model.car import Car, GateLayout, Plane
from shiftlog.model.settings import Settings
from shiftlog.pipeline import find_all, load_drive

PLANES_HELP = "planes from left to right, forward gear first: 1-2,3-4,5-R; R- has a forward gear only, -R a rear one"
KMH_PER_MPS = 3.6


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of the command."""
    parser.add_argument("file", type=Path, metavar="FILE", help="the profile to write, or to check, as car.toml")
    parser.add_argument("--name", help="what the car is called")
    parser.add_argument("--planes", help=PLANES_HELP)
    parser.add_argument("--home", help="the plane the lever should come to rest in, or none")
    parser.add_argument("--pitch", type=float, metavar="MM", help="distance between planes")
    parser.add_argument("--travel", type=float, metavar="MM", help="forward seat to rearward seat")
    parser.add_argument("--redline", type=float, metavar="RPM", help="redline")
    parser.add_argument("--ratios", help="1=3.2,2=1.95,…")
    parser.add_argument("--final-drive", type=float, metavar="RATIO", help="final drive")
    parser.add_argument("--tyre", help="size as on its side, 205/50R15")
    parser.add_argument(
        "--from-drive", type=Path, metavar="DRIVE", help="learn engine speed over vehicle speed from it"
    )


def run(args: argparse.Namespace) -> int:
    """Make or change the profile, and say what a drive makes of it."""
    made = any((args.name, args.planes, args.home, args.pitch, args.travel, args.redline, args.ratios))
    car = read_car(args.file) if args.file.is_file() else _new_car(args)
    car = _changed(car, args)
    if args.from_drive:
        car = _learn(car, args.from_drive)
    if made or args.from_drive or args.final_drive or args.tyre or not args.file.is_file():
        car = _save(car, args.file)
        print(f"Written: {args.file}")
    print("\n".join(_lines(car)))
    return 0


def _save(car: Car, file: Path) -> Car:
    """Written beside, read back, and only then put in place: a wrong profile leaves the old one alone."""
    file.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=file.parent) as folder:
        beside = Path(folder) / file.name
        write_car(car, beside)
        car = read_car(beside)
        beside.replace(file)
    return car


def _new_car(args: argparse.Namespace) -> Car:
    """A car from the options; on a terminal what is missing is asked for."""
    if sys.stdin.isatty():
        args.name = args.name or input("Name of the car: ").strip()
        args.planes = args.planes or input(f"Gate, {PLANES_HELP}: ").strip()
        args.home = args.home or input("Home plane (empty: none): ").strip() or "none"
    if not args.planes:
        raise ProfileError(f"{args.file}: is not there yet; give --planes to make it ({PLANES_HELP})")
    return Car(name=args.name or args.file.stem, gate=GateLayout(planes=read_planes(args.planes)))


def read_planes(text: str) -> tuple[Plane, ...]:
    """``1-2,3-4,5-R`` as planes. ProfileError where it cannot be read."""
    planes = []
    for part in text.split(","):
        forward, dash, rear = part.strip().partition("-")
        if not (forward or rear):
            raise ProfileError(f"--planes {text}: {part!r} names no gear; write {PLANES_HELP}")
        if not dash and len(forward) > 1:
            raise ProfileError(f"--planes {text}: {part!r} lacks the dash between its gears; write {PLANES_HELP}")
        planes.append(Plane(forward=forward or None, rear=rear or None))
    return tuple(planes)


def _changed(car: Car, args: argparse.Namespace) -> Car:
    gate = car.gate
    if gate is not None:
        gate = replace(
            gate,
            planes=read_planes(args.planes) if args.planes else gate.planes,
            home=gate.home if args.home is None else (None if args.home == "none" else args.home),
            plane_pitch_mm=args.pitch or gate.plane_pitch_mm,
            engage_travel_mm=args.travel or gate.engage_travel_mm,
        )
    ratios = _read_ratios(args.ratios) if args.ratios else dict(car.ratios)
    final = dict.fromkeys(ratios, args.final_drive) if args.final_drive else dict(car.final_drive)
    radius = _read_tyre(args.tyre) if args.tyre else car.rolling_radius_m
    return replace(
        car, name=args.name or car.name, gate=gate, redline_rpm=args.redline or car.redline_rpm, ratios=ratios,
        final_drive=final, rolling_radius_m=radius,
    )  # fmt: skip


def _read_ratios(text: str) -> dict[str, float]:
    try:
        return {g.strip(): float(v) for g, v in (part.split("=") for part in text.split(","))}
    except ValueError as error:
        raise ProfileError(f"--ratios {text}: cannot be read ({error}); write 1=3.2,2=1.95") from error


def _read_tyre(text: str) -> float:
    radius = rolling_radius_m(text)
    if radius is None:
        raise ProfileError(f"--tyre {text}: is no tyre size; write it as on its side, 205/50R15")
    return radius


def _learn(car: Car, drive_path: Path) -> Car:
    progress = make_progress()
    drive = replace(load_drive(drive_path, progress=progress), car=car)
    found = find_all(drive, Settings())
    clear_progress()
    say_left_out(drive)
    for note in found.notes:
        print(note)
    if not found.learnt_rpm_per_mps:
        print(f"{drive_path}: engine and vehicle speed do not tell the ratios of any gear")
        return car
    return replace(car, learnt_rpm_per_mps={**car.learnt_rpm_per_mps, **found.learnt_rpm_per_mps})


def _lines(car: Car) -> list[str]:
    lines = [f"{car.name}"]
    if car.gate:
        lines.append(f"  gate     {', '.join(p.name for p in car.gate.planes)}; home {car.gate.home or 'none'}")
    known = {g: r for g in (car.gate.gears if car.gate else car.ratios) if (r := car.rpm_per_mps(g))}
    if known:
        lines.append("  rpm per km/h  " + ", ".join(f"{g}: {r / KMH_PER_MPS:.1f}" for g, r in known.items()))
    else:
        lines.append(
            "  ratios are not known: over-rev needs them (--ratios --final-drive --tyre, or --from-drive DRIVE)"
        )
    if car.redline_rpm is None:
        lines.append("  the redline is not known: over-rev needs it (--redline)")
    return lines
