"""`shiftlog check`: what each log of a drive is worth, and what to fit to measure more."""

import argparse
from pathlib import Path

from shiftlog.commands.progress import show_progress
from shiftlog.commands.several import for_each_drive
from shiftlog.commands.terminal import say_left_out
from shiftlog.compare.words import figure
from shiftlog.measure.capability import judge_recording
from shiftlog.model.drive import Drive, Placed
from shiftlog.pipeline import load_drive


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of the command."""
    parser.add_argument("drives", nargs="+", type=Path, metavar="DRIVE", help="a drive's folder, or its drive.toml")
    parser.add_argument("--allow-restart", action="store_true", help="accept a log whose time jumps back")


def run(args: argparse.Namespace) -> int:
    """Print what each recording is worth."""
    drives, code = for_each_drive(args.drives, lambda path: _load(path, allow_restart=args.allow_restart))
    for drive in drives:
        print("\n".join(_lines(drive)), end="\n\n" if len(drives) > 1 else "\n")
    return code


def _load(path: Path, *, allow_restart: bool) -> Drive:
    with show_progress() as progress:
        drive = load_drive(path, allow_restart=allow_restart, progress=progress)
    say_left_out(drive)
    return drive


def _lines(drive: Drive) -> list[str]:
    lines = [f"{drive.head.id}, {drive.car.name}: {len(drive.placed)} recordings, clock of {drive.clock_recording}."]
    for placed in drive.placed:
        lines += ["", *_recording_lines(placed, drive)]
    missing = _missing(drive)
    if missing:
        lines += ["", "Not to be measured from this drive:", *missing]
    return lines


def _recording_lines(placed: Placed, drive: Drive) -> list[str]:
    recording, quality = placed.recording, placed.recording.quality
    lines = [
        f"{recording.name} ({recording.file}, at the {recording.place})",
        f"  channels   {', '.join(c.name for c in recording.channels) or 'none'}",
        f"  rate       {quality.rate_hz:.4g} Hz, steps vary by {figure(quality.jitter_s * 1000, 'ms')}, "
        f"{quality.samples} samples in {quality.duration_s:.1f} s",
        f"  gaps       {_gaps(quality.gaps)}; {quality.dropped} samples lost, {quality.clipped} clipped",
    ]
    if quality.bandwidth_hz is not None:
        noise = "not known" if quality.noise_mps2 is None else f"{quality.noise_mps2:.2g} m/s²"
        lines.append(f"  vibration  noise {noise}, to be trusted up to {quality.bandwidth_hz:.3g} Hz")
    if quality.mended:
        lines.append(f"  mended     {', '.join(f'{n} {what}' for what, n in quality.mended.items())}")
    if quality.stuck:
        lines.append(f"  stuck      {', '.join(quality.stuck)}: never changes")
    if recording.ignored:
        lines.append(f"  left       columns that are no channel: {', '.join(recording.ignored)}")
    lines.append(f"  clock      {_clock(placed)}")
    lines.append(f"  mounting   {placed.mounting.how}" + (f" ({placed.mounting.why})" if placed.mounting.why else ""))
    lines.append(f"  measures   {', '.join(judge_recording(placed, drive.placed)[0]) or 'nothing by itself'}")
    return lines


def _gaps(gaps: tuple[tuple[float, float], ...]) -> str:
    if not gaps:
        return "none"
    longest = max(gaps, key=lambda g: g[1] - g[0])
    return f"{len(gaps)}, the longest {figure(longest[1] - longest[0], 's')} at {longest[0]:.1f} s"


def _clock(placed: Placed) -> str:
    clock = placed.clock
    if clock.offset_s is None:
        return f"not placed: {clock.why}"
    return f"{clock.how}, recorder time = drive time + {clock.offset_s:.3f} s"


def _missing(drive: Drive) -> list[str]:
    """Families that no recording of the drive carries, with the most telling reason."""
    judged = [(placed, *judge_recording(placed, drive.placed)) for placed in drive.placed]
    carried = {name for _, can, _ in judged for name in can}
    reasons: dict[str, str] = {}
    for _, _, cannot in judged:
        for name, why in cannot:
            if name not in carried and (name not in reasons or _rank(why) < _rank(reasons[name])):
                reasons[name] = why
    return [f"  {name}: {why}" for name, why in reasons.items()]


def _rank(why: str) -> int:
    """A recording that has the sensor and falls short says more than one elsewhere, and that more than one without."""
    return 2 if why.startswith("no ") else 1 if why.startswith("the recorder sits") else 0
