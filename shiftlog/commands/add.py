"""`shiftlog add`: a drive folder from bare logs."""

import argparse
from dataclasses import fields
from pathlib import Path

from shiftlog.commands.option_types import finite
from shiftlog.commands.progress import show_progress
from shiftlog.commands.terminal import say, writing
from shiftlog.ingest.add import plan_drive, write_drive
from shiftlog.ingest.add_options import AddOptions
from shiftlog.model.drive import DriveHead
from shiftlog.units import as_percent

OPTION_HELP = {
    "column": "this column holds that channel: [FILE::]COLUMN=CHANNEL[:UNIT]; CHANNEL - leaves it out",
    "unit": "the unit of a column: [FILE::]COLUMN=UNIT",
    "grows": "which way a lever axis grows: [FILE::]select=right|left or engage=forward|rearward",
    "place": "where the recorder sat: [FILE=]lever|tower|gearbox|body|engine|pedal",
    "clock": "logs that name one clock share it: [FILE=]NAME",
    "offset": "recorder time = drive time + SECONDS: [FILE=]SECONDS",
    "mounting": "sensor axes that point forward, left and up: [FILE=]y,-x,z, or nine numbers",
    "decode": "what the frames of a bus trace hold, a DBC or a few lines of TOML: [FILE=]signals.toml",
}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of the command."""
    parser.add_argument("logs", nargs="+", type=Path, metavar="LOG", help="a log as the recorder wrote it")
    parser.add_argument("--car", type=Path, metavar="FILE", help="the car's profile (see `shiftlog car`)")
    parser.add_argument(
        "--into", type=Path, metavar="FOLDER", help="where the drive folder goes (default: ./drive-LOG)"
    )
    parser.add_argument("--stage", help="before, after, or any word by which drives are compared")
    parser.add_argument("--driver", help="who drove")
    parser.add_argument("--gearbox-temp", type=finite, metavar="DEGC", help="gearbox temperature, one reading")
    parser.add_argument("--notes", help="anything worth keeping")
    parser.add_argument("--allow-restart", action="store_true", help="accept a log whose time jumps back")
    for name, text in OPTION_HELP.items():
        parser.add_argument(f"--{name}", action="append", default=[], metavar="…", help=text)


def run(args: argparse.Namespace) -> int:
    """Plan, say what was understood, write."""
    folder = args.into or Path(f"drive-{args.logs[0].stem}")
    options = AddOptions(**{f.name: tuple(getattr(args, f.name)) for f in fields(AddOptions)})
    head = DriveHead(
        id=folder.resolve().name,
        stage=args.stage,
        driver=args.driver,
        gearbox_temp_c=args.gearbox_temp,
        notes=args.notes,
    )
    with show_progress() as progress:
        plan = plan_drive(
            args.logs, args.car, head=head, options=options, allow_restart=args.allow_restart,
            progress=lambda name, share: progress(f"reading {name} ({as_percent(share)} done)" if name else "writing"),
        )  # fmt: skip
        with writing(folder):
            write_drive(plan, folder)
    for left in plan.left_out:
        say(left.why)
    print("\n".join(plan.lines))
    print(f"Written: {folder}. Next: shiftlog check {folder}, then shiftlog measure {folder}")
    return 0
