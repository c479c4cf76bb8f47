"""`shiftlog neutral`: where the lever rests over these drives, and what a push straight in would mean."""

import argparse
import textwrap
from pathlib import Path

from shiftlog.commands.exit_codes import UNUSABLE
from shiftlog.commands.option_types import speed_kmh
from shiftlog.commands.progress import show_progress
from shiftlog.commands.several import each_once, for_each_drive, refuse_other_cars
from shiftlog.commands.terminal import WIDTH, say, say_left_out, table, write_json
from shiftlog.model.drive import Drive
from shiftlog.model.neutral import DriveTest, NeutralReport, Reach
from shiftlog.model.result import DriveResult
from shiftlog.neutral.document import report_to_document
from shiftlog.neutral.report import report_neutral
from shiftlog.neutral.words import CAUTIONS, name_group, say_moment
from shiftlog.pipeline import load_drive, measure_drive

KMH_PER_MPS = 3.6
NONE = "-"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of the command."""
    parser.add_argument("drives", nargs="+", type=Path, metavar="DRIVE", help="drive folders of one car")
    parser.add_argument(
        "--at", action="append", type=speed_kmh, metavar="KMH",
        help="a speed to give engine speeds at, in km/h; may be given several times",
    )  # fmt: skip
    parser.add_argument("--json", metavar="FILE", help="write the answer there; - for standard output")


def run(args: argparse.Namespace) -> int:
    """Measure the drives, put their rests together, and print or write what they say."""
    measured, code = for_each_drive(args.drives, _measure)
    if not measured:
        return UNUSABLE
    refuse_other_cars([drive.car for drive, _ in measured])
    once = set(map(id, each_once([drive for drive, _ in measured])))
    measured = [(drive, result) for drive, result in measured if id(drive) in once]
    speeds = None if args.at is None else [kmh / KMH_PER_MPS for kmh in args.at]
    report = report_neutral([result for _, result in measured], measured[-1][0].car, speeds_mps=speeds)
    for note in report.notes:
        say(note)
    if args.json:
        write_json(report_to_document(report), args.json)
    if args.json != "-":
        print("\n".join(report_lines(report)))
    return code


def _measure(path: Path) -> tuple[Drive, DriveResult]:
    with show_progress() as progress:
        drive = load_drive(path, progress=progress)
        result = measure_drive(drive, progress=progress)
    say_left_out(drive)
    return drive, result


def report_lines(report: NeutralReport) -> list[str]:
    """All that is printed of it."""
    lines = [f"{report.car}: the lever in neutral, {', '.join(report.drives)}", ""]
    lines += [line for text in report.says for line in textwrap.wrap(text, WIDTH, subsequent_indent="  ")]
    lines += [line for of in report.tests for line in ("", _name_test(of), *of.test.says)]
    lines += ["", _group_table(report)] if report.groups else []
    lines += ["", _reach_table(report)] if report.reach else []
    return [*lines, "", *(line for text in CAUTIONS for line in textwrap.wrap(text, WIDTH))]


def _name_test(of: DriveTest) -> str:
    return f"{of.test.kind.replace('_', ' ').capitalize()}, {say_moment(of.test.start_s)} into {of.drive}:"


def _group_table(report: NeutralReport) -> str:
    heads = [
        "rests",
        "let go",
        "guided",
        "not known",
        "in bends",
        "out of home",
        "offset mm",
        "hysteresis mm",
        "return s",
    ]
    rows = [
        [
            name_group(g), str(g.released), str(g.guided), str(g.unknown), str(g.in_bends),
            NONE if g.wrong_plane is None else f"{g.wrong_plane.k} of {g.wrong_plane.n}",
            *(_number(g.value(key), digits) for key, digits in
              (("offset_mm", 1), ("hysteresis_mm", 1), ("return_time_s", 2))),
        ]
        for g in report.groups
    ]  # fmt: skip
    return table(heads, rows)


def _reach_table(report: NeutralReport) -> str:
    speeds = list(dict.fromkeys(v for reach in report.reach for v in reach.rpm_at))
    heads = ["resting in", "rests", "pushed into", "over-revs above", *(f"{v * KMH_PER_MPS:.0f} km/h" for v in speeds)]
    return table(heads, [_reach_row(reach, speeds, report.redline_rpm) for reach in report.reach])


def _reach_row(reach: Reach, speeds: list[float], redline_rpm: float | None) -> list[str]:
    limit = reach.over_rev_above_mps
    cells = [
        f"{reach.plane}{' (home)' if reach.home else ''}", str(reach.rests), reach.gear,
        reach.why or NONE if limit is None else f"{limit * KMH_PER_MPS:.0f} km/h",
    ]  # fmt: skip
    return cells + [_rpm(reach.rpm_at.get(v), redline_rpm) for v in speeds]


def _rpm(rpm: float | None, redline_rpm: float | None) -> str:
    if rpm is None:
        return NONE
    return f"{rpm:,.0f} rpm" + (" OVER" if redline_rpm is not None and rpm > redline_rpm else "")


def _number(value: float | None, digits: int) -> str:
    return NONE if value is None else f"{value:+.{digits}f}" if digits == 1 else f"{value:.{digits}f}"
