"""A car's profile from the options of `shiftlog car`, and the questions that stand in for them on a terminal."""

import argparse
import sys
from dataclasses import replace

from shiftlog.commands.option_types import positive
from shiftlog.errors import ProfileError
from shiftlog.ingest.tyre import rolling_radius_m
from shiftlog.model.car import Car, GateLayout, Plane

PLANES_HELP = (
    "planes from left to right, forward gear first: 1-2,3-4,5-R; R- has a forward gear only, -R a rear one "
    "(write --planes=-R,1-2 where that comes first)"
)

GATE_OPTIONS = ("planes", "home", "pitch", "travel")
CHANGES = ("name", *GATE_OPTIONS, "redline", "ratios", "final_drive", "tyre")

QUESTIONS = {
    "name": "Name of the car: ",
    "planes": f"Gate, {PLANES_HELP}: ",
    "home": "Plane the lever should rest in, or none: ",
    "redline": "Redline in rpm (empty: not known): ",
    "ratios": "Ratios, as 1=3.2,2=1.95 (empty: not known): ",
    "final_drive": "Final drive (empty: not known): ",
    "tyre": "Tyre size, as 205/50R15 (empty: not known): ",
}
NUMBERS = ("redline", "final_drive")


def ask_missing(args: argparse.Namespace) -> None:
    """Ask, where standard input is a terminal and no option gives the gate, for every part that none gives."""
    if args.planes is not None or not sys.stdin.isatty():
        return
    for option, question in QUESTIONS.items():
        if getattr(args, option) is None:
            setattr(args, option, _ask(option, question))


def _ask(option: str, question: str) -> str | float | None:
    """The answer, None where it is empty; a number that cannot be read is asked for again."""
    while True:
        try:
            answer = input(question).strip()
        except EOFError as error:
            raise ProfileError(
                f"--{option.replace('_', '-')}: the question was not answered; give the option"
            ) from error
        if not answer or option not in NUMBERS:
            return answer or None
        try:
            return positive(answer)
        except argparse.ArgumentTypeError as error:
            print(f"{error}.")


def is_change(args: argparse.Namespace) -> bool:
    """Whether any option says something of the car."""
    return any(getattr(args, option) is not None for option in CHANGES)


def new_car(args: argparse.Namespace) -> Car:
    """A car that has its gate. ProfileError where no option gives it."""
    if args.planes is None:
        raise ProfileError(f"{args.file}: is not there yet; give --planes to make it ({PLANES_HELP})")
    return Car(name=args.name or args.file.stem, gate=GateLayout(planes=read_planes(args.planes)))


def changed_car(car: Car, args: argparse.Namespace) -> Car:
    """The car with every option put in. ProfileError where an option cannot be read or has nothing to say it of."""
    gate = _changed_gate(car.gate, args)
    ratios = dict(car.ratios) if args.ratios is None else read_ratios(args.ratios)
    final = dict(car.final_drive)
    if args.final_drive is not None:
        final = dict.fromkeys(gate.gears if gate else ratios, args.final_drive)
        if not final:
            raise ProfileError("--final-drive: the profile names no gear yet; give --planes or --ratios with it")
    return replace(
        car, gate=gate, ratios=ratios, final_drive=final,
        name=car.name if args.name is None else args.name,
        redline_rpm=car.redline_rpm if args.redline is None else args.redline,
        rolling_radius_m=car.rolling_radius_m if args.tyre is None else read_tyre(args.tyre),
    )  # fmt: skip


def _changed_gate(gate: GateLayout | None, args: argparse.Namespace) -> GateLayout | None:
    given = [option for option in GATE_OPTIONS if getattr(args, option) is not None]
    if not given:
        return gate
    if gate is None and args.planes is None:
        raise ProfileError(f"--{given[0]}: the profile has no gate yet; give --planes with it ({PLANES_HELP})")
    gate = gate or GateLayout(planes=())
    home = None if args.home == "none" else args.home
    return replace(
        gate,
        planes=gate.planes if args.planes is None else read_planes(args.planes),
        home=gate.home if args.home is None else home,
        plane_pitch_mm=gate.plane_pitch_mm if args.pitch is None else args.pitch,
        engage_travel_mm=gate.engage_travel_mm if args.travel is None else args.travel,
    )


def read_planes(text: str) -> tuple[Plane, ...]:
    """``1-2,3-4,5-R`` as planes. ProfileError where it cannot be read."""
    planes = []
    for part in text.split(","):
        forward, dash, rear = (piece.strip() for piece in part.partition("-"))
        if not (forward or rear):
            raise ProfileError(f"--planes {text}: {part!r} names no gear; write {PLANES_HELP}")
        if not dash and len(forward) > 1:
            raise ProfileError(f"--planes {text}: {part!r} lacks the dash between its gears; write {PLANES_HELP}")
        if "-" in rear:
            raise ProfileError(f"--planes {text}: {part!r} has more than two gears in a plane; write {PLANES_HELP}")
        planes.append(Plane(forward=forward or None, rear=rear or None))
    return tuple(planes)


def read_ratios(text: str) -> dict[str, float]:
    """``1=3.2,2=1.95`` by gear. ProfileError where it cannot be read."""
    ratios: dict[str, float] = {}
    for part in text.split(","):
        gear, equals, value = (piece.strip() for piece in part.partition("="))
        if not (gear and equals) or gear in ratios:
            fault = "is there twice" if gear in ratios else "is no GEAR=RATIO"
            raise ProfileError(f"--ratios {text}: {part.strip()!r} {fault}; write 1=3.2,2=1.95")
        try:
            ratios[gear] = positive(value)
        except argparse.ArgumentTypeError as error:
            raise ProfileError(f"--ratios {text}: gear {gear}: {error}; write 1=3.2,2=1.95") from error
    return ratios


def read_tyre(text: str) -> float:
    """Rolling radius [m] of a tyre size. ProfileError where it is none."""
    radius = rolling_radius_m(text)
    if radius is None:
        raise ProfileError(f"--tyre {text}: is no tyre size; write it as on its side, 205/50R15")
    return radius
