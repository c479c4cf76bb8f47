"""`shiftlog report`: the client's page of a job, or of drives before and after."""

import argparse
from pathlib import Path

from shiftlog.commands.compare import read_results
from shiftlog.commands.job import say_unsealed
from shiftlog.commands.progress import show_progress
from shiftlog.commands.terminal import say, writing
from shiftlog.commands.workshop_drives import drives_of_job, history_of, limits_beside, limits_of, use_results
from shiftlog.errors import StoreError
from shiftlog.report.answer import answer
from shiftlog.report.cold_words import say_hint
from shiftlog.report.content import Content, make_content
from shiftlog.report.counts import say_not_ticked
from shiftlog.report.language import KMH, MPH, languages, load_language
from shiftlog.report.page import Wishes, make_page
from shiftlog.report.print_page import print_page
from shiftlog.store.jobs import Jobs
from shiftlog.store.workshop import Workshop


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of the command."""
    what = "drive folders, or files that `shiftlog measure --json` wrote"
    parser.add_argument("page", type=Path, metavar="PAGE", help="the HTML file to write")
    parser.add_argument("--job", type=int, metavar="N", help="the job it is about")
    parser.add_argument("--workshop", type=Path, default=Path("workshop"), metavar="DIR", help="the workshop folder")
    parser.add_argument("--before", nargs="+", type=Path, default=[], metavar="DRIVE", help=f"without a job: {what}")
    parser.add_argument("--after", nargs="+", type=Path, default=[], metavar="DRIVE", help=f"without a job: {what}")
    parser.add_argument("--pdf", type=Path, metavar="FILE", help="print it to a PDF as well")
    parser.add_argument("--language", choices=languages(), default="en", help="of the page (default: en)")
    parser.add_argument("--speed", choices=(KMH, MPH), default=KMH, help="km/h or mph; miles go with mph")
    parser.add_argument("--show-plate", action="store_true", help="show plate and VIN; they are masked otherwise")


def run(args: argparse.Namespace) -> int:
    """Write the page, and say what stands in it."""
    content, photo = _of_job(args) if args.job is not None else (_of_drives(args), lambda _: None)
    wishes = Wishes(language=args.language, speed=args.speed, show_plate=args.show_plate)
    page = make_page(content, wishes, photo)
    with writing(args.page):
        args.page.write_text(page, encoding="utf-8")
    if content.version and (said := say_not_ticked(content.version.job)):
        say(f"job {args.job}: {said}; tick it with: shiftlog job set {args.job} symptoms …")
    if content.cold_hint:
        say(f"job {args.job}: {say_hint(content.cold_hint)}")
    if args.pdf:
        pdf = print_page(page)
        with writing(args.pdf):
            args.pdf.write_bytes(pdf)
    written = [f"Written: {path}" for path in (args.page, args.pdf) if path]
    print("\n".join([*answer(content, load_language(args.language)), *written]))
    return 0


def _of_job(args: argparse.Namespace):
    if args.before or args.after:
        raise StoreError("--job: names its drives itself; leave out --before and --after")
    workshop = Workshop.open(args.workshop, create=False)
    jobs = Jobs(workshop)
    version = jobs.job(args.job)
    say_unsealed(jobs.history(args.job))
    with show_progress() as progress:
        sides = drives_of_job(workshop, version.job, progress=progress)
    if not (sides["before"] or sides["after"]):
        add = f"shiftlog job add {args.job} drive DRIVE"
        raise StoreError(f"job {args.job}: has no drive before or after the work; add one with: {add}")
    history = history_of(workshop, version.job)
    limits = limits_of(workshop, version.job)
    content = make_content(
        sides["before"], sides["after"], version, recheck=sides["recheck"], history=history, limits=limits
    )
    return content, jobs.small_photo


def _of_drives(args: argparse.Namespace) -> Content:
    if not (args.before or args.after):
        raise StoreError("report: give --job N, or drives with --before and --after")
    sides = (use_results(read_results(paths)) for paths in (args.before, args.after))
    return make_content(*sides, limits=limits_beside(args.after or args.before))
