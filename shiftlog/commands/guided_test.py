"""`shiftlog test`: what the marked spans of one kind of guided test say, of one drive or of several side by side."""

import argparse
import textwrap
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from shiftlog.commands.exit_codes import UNUSABLE
from shiftlog.commands.option_types import finite
from shiftlog.commands.progress import show_progress
from shiftlog.commands.same_tries import Told, tell_each_once
from shiftlog.commands.several import for_each_drive
from shiftlog.commands.terminal import WIDTH, say, say_left_out, table, write_json
from shiftlog.errors import DriveError
from shiftlog.guided.cards.known import card_of
from shiftlog.guided.configurations import Compared, compare_configurations
from shiftlog.guided.document import tests_to_document
from shiftlog.guided.measure import MEASURES
from shiftlog.model.drive import Drive, MarkedTest
from shiftlog.model.guided import Figure, GuidedResult
from shiftlog.model.sign import PLACES
from shiftlog.pipeline import load_drive, measure_drive

CLEARANCE = "clearance"
SEE_CABLES = "clearances are measured together with the cables' setting: shiftlog cables DRIVE"
NONE = "–"

WITHIN_S = 1.0
"""A span may be typed so much longer than the log."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of the command."""
    parser.add_argument("kind", choices=tuple(MEASURES), metavar="KIND", help=f"one of {', '.join(MEASURES)}")
    parser.add_argument("drives", nargs="+", type=Path, metavar="DRIVE", help="drive folders; several side by side")
    parser.add_argument(
        "--span", nargs=2, type=finite, metavar=("START", "END"),
        help="the span of the test in seconds of drive time, where drive.toml does not mark it",
    )  # fmt: skip
    parser.add_argument("--configuration", metavar="TEXT", help='with --span: "complete", "cables off", …')
    parser.add_argument(
        "--waits", nargs="+", type=finite, metavar="S", default=[],
        help="with --span, spin_down without a clutch channel: seconds waited before each try, in order",
    )  # fmt: skip
    parser.add_argument("--gearbox-temp", type=finite, metavar="C", help="with --span: °C as read off a thermometer")
    parser.add_argument("--json", metavar="FILE", help="write the answer there; - for standard output")


def run(args: argparse.Namespace) -> int:
    """Measure the spans, and print or write what they say."""
    if args.kind == CLEARANCE:
        say(SEE_CABLES)
        return UNUSABLE
    _check_span(args)
    measured, code = for_each_drive(args.drives, lambda path: _measure(path, args))
    told, once = tell_each_once(measured)
    if not told:
        return UNUSABLE
    compared = compare_configurations(once)
    cards = [card_of(result.kind, result.configuration) for _, result in told]
    cautions = tuple(dict.fromkeys(caution for card in cards if card for caution in card.cautions))
    if args.json:
        write_json(tests_to_document(args.kind, told, compared, cautions), args.json)
    if args.json != "-":
        print("\n".join(test_lines(told, compared, cautions)))
    return code if any(result.figures for _, result in told) else UNUSABLE


def _check_span(args: argparse.Namespace) -> None:
    if args.configuration and not args.span:
        raise DriveError("--configuration: needs --span START END; a marked span carries its own in drive.toml")
    if args.gearbox_temp is not None and not args.span:
        raise DriveError("--gearbox-temp: needs --span START END; a marked span carries its own in drive.toml")
    if args.waits and not (args.span and args.kind == "spin_down" and min(args.waits) > 0):
        raise DriveError("--waits: seconds above 0, for spin_down with --span START END; marked ones carry theirs")
    if args.span and args.span[1] <= args.span[0]:
        raise DriveError(f"--span: {args.span[1]:g} s is not after {args.span[0]:g} s")


def _check_within(drive: Drive, args: argparse.Namespace) -> None:
    """A span that runs out of the logs was typed for another drive. DriveError."""
    ends = [float(p.recording.time_s[-1]) for p in drive.placed if p.on_drive_time and p.recording.time_s.size]
    if args.span and ends and (args.span[0] < -WITHIN_S or args.span[1] > max(ends) + WITHIN_S):
        raise DriveError(
            f"--span: {args.span[0]:g} to {args.span[1]:g} s lies beyond {drive.head.id}, whose logs end at "
            f"{max(ends):.1f} s of drive time"
        )


def _measure(path: Path, args: argparse.Namespace) -> tuple[Drive, tuple[GuidedResult, ...]]:
    with show_progress() as progress:
        drive = load_drive(path, progress=progress)
    say_left_out(drive)
    _check_within(drive, args)
    marked = _marked(drive, args)
    if not marked:
        say(
            f'{drive.head.id}: no {args.kind} test is marked; write [[test]] kind = "{args.kind}", start_s and end_s '
            "into drive.toml, or give --span START END"
        )
        return drive, ()
    with show_progress() as progress:
        result = measure_drive(replace(drive, tests=_with_others(marked, drive)), progress=progress)
    asked = {_span_of(test) for test in marked}
    return drive, tuple(one for one in result.guided if _span_of(one) in asked)


def _with_others(marked: tuple[MarkedTest, ...], drive: Drive) -> tuple[MarkedTest, ...]:
    """What else is marked tells which stays were pushed, so that a test shows the same figures here as in `measure`."""
    return tuple({_span_of(test): test for test in (*drive.tests, *marked)}.values())


def _span_of(test: MarkedTest | GuidedResult) -> tuple[str, float, float]:
    return test.kind, test.start_s, test.end_s


def _marked(drive: Drive, args: argparse.Namespace) -> tuple[MarkedTest, ...]:
    if args.span:
        start_s, end_s = args.span
        shared = {
            "configuration": args.configuration, "waits_s": tuple(args.waits), "gearbox_temp_c": args.gearbox_temp,
        }  # fmt: skip
        return (MarkedTest(kind=args.kind, start_s=start_s, end_s=end_s, **shared),)
    return tuple(test for test in drive.tests if test.kind == args.kind)


def test_lines(told: Sequence[Told], compared: Compared | None, cautions: Sequence[str]) -> list[str]:
    """All that is printed of them."""
    lines: list[str] = []
    for drive, result in told:
        lines += [*_span_lines(drive, result), ""]
    lines += [_figure_table(told), ""] if any(result.figures for _, result in told) else []
    lines += _reasons(told)
    if compared is not None and (compared.says or len(told) > 1):
        lines += ["Configurations together:", *_points(compared.says), *_points(compared.doubts, "Doubt: "), ""]
    return [*lines, *_points(cautions, "Caution: ")]


def _span_lines(drive: str, result: GuidedResult) -> list[str]:
    head = f"{drive}, {result.start_s:.1f} to {result.end_s:.1f} s"
    head += f", {result.configuration}" if result.configuration else ""
    pointed = [f"{PLACES[place]}: {told}" for place, told in result.points_to]
    return [
        f"{head}:", *_points(result.says), *_points(pointed, "Points to "), *_points(result.doubts, "Doubt: "),
    ]  # fmt: skip


def _points(sentences: Sequence[str], mark: str = "") -> list[str]:
    return [
        line
        for sentence in sentences
        for line in textwrap.wrap(f"{mark}{sentence}", WIDTH, initial_indent="  ", subsequent_indent="    ")
    ]


def _figure_table(told: Sequence[Told]) -> str:
    """One row a figure, one column a span."""
    keys = list(dict.fromkeys((f.key, f.of) for _, result in told for f in result.figures))
    names = [_column(told, k) for k in range(len(told))]
    rows = []
    for key, of in keys:
        found = [result.figure(key, of) for _, result in told]
        one = next(f for f in found if f is not None)
        rows.append([f"{one.label}, {of}" if of else one.label, *(_cell(f) for f in found), one.unit])
    return table(["figure", *names, "unit"], rows)


def _column(told: Sequence[Told], k: int) -> str:
    drive, result = told[k]
    names = [drive] if len({name for name, _ in told}) > 1 else []
    names += [result.configuration] if result.configuration else []
    return ", ".join(names) or (f"span {k + 1}" if len(told) > 1 else "value")


def _cell(figure: Figure | None) -> str:
    if figure is None or (figure.value is None and figure.share is None):
        return NONE
    if figure.share is not None:
        share = figure.share
        return f"{share.k} of {share.n} ({100 * share.low:.0f} to {100 * share.high:.0f} %)"
    places = _places(figure.value, most=3 if figure.unit in ("s", "mm/N", "") else 2)
    sure = f" ± {figure.uncertainty:.{places}f}" if figure.uncertainty is not None else ""
    return f"{figure.value:.{places}f}{sure}"


def _places(value: float, *, most: int) -> int:
    """Decimals that leave three significant digits, and no more than so many."""
    whole = len(str(int(abs(value)))) if abs(value) >= 1 else 0
    return min(max(3 - whole, 0), most)


def _reasons(told: Sequence[Told]) -> list[str]:
    """Why figures are missing, each reason once."""
    missing: dict[str, list[str]] = {}
    for _, result in told:
        for f in result.figures:
            if f.why is not None:
                name = f"{f.label}, {f.of}" if f.of else f.label
                missing.setdefault(f.why, []).append(name)
    lines = [f"{NONE} {', '.join(dict.fromkeys(names))}: {why}" for why, names in missing.items()]
    return [*_points(lines), ""] if lines else []
