"""`shiftlog card`: what has to be driven, and what of it is still missing."""

import argparse
from pathlib import Path

from shiftlog.commands.compare import read_results
from shiftlog.commands.progress import show_progress
from shiftlog.commands.terminal import say, table, writing
from shiftlog.commands.workshop_drives import drives_of_job
from shiftlog.errors import StoreError
from shiftlog.ingest.car_file import read_car
from shiftlog.model.job import FIELD_OF, SIDES, SYMPTOMS, TEMPERATURES, Job
from shiftlog.report.card import CardPlan, plan_card, side_of
from shiftlog.report.card_page import cautions, engine_speed, make_card, missing, road_speed, state
from shiftlog.report.language import KMH, MPH, Language, languages, load_language
from shiftlog.report.print_page import print_page
from shiftlog.store.job_values import read_value
from shiftlog.store.jobs import Jobs, changed
from shiftlog.store.profiles import read_kept_car
from shiftlog.store.workshop import Workshop


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of the command."""
    parser.add_argument("page", nargs="?", type=Path, metavar="PAGE", help="write the card there, to print (HTML)")
    parser.add_argument("--job", type=int, metavar="N", help="the job whose complaint it is made from")
    parser.add_argument("--workshop", type=Path, default=Path("workshop"), metavar="DIR", help="the workshop folder")
    parser.add_argument("--side", choices=SIDES, help="of the work (default: what the job has come to)")
    parser.add_argument("--car", type=Path, metavar="FILE", help="without a job: the car's profile")
    parser.add_argument("--symptoms", default="", help=f"without a job, with commas: {', '.join(SYMPTOMS)}")
    parser.add_argument("--shifts", default="", help="without a job: 2-3,3-2,R")
    parser.add_argument("--temperature", choices=TEMPERATURES, default="", help="without a job: when it happens")
    parser.add_argument("--driven", nargs="+", type=Path, default=[], metavar="DRIVE", help="without a job: so far")
    parser.add_argument("--language", choices=languages(), default="en", help="of the card (default: en)")
    parser.add_argument("--speed", choices=(KMH, MPH), default=KMH, help="unit of speed")
    parser.add_argument("--pdf", type=Path, metavar="FILE", help="print it to a PDF as well")


def run(args: argparse.Namespace) -> int:
    """Print the card, and write it where it is wanted."""
    plan = _of_job(args) if args.job is not None else _of_car(args)
    page = make_card(plan, language=args.language, speed=args.speed)
    if plan.cold_hint:
        say(f"job {args.job}: {plan.cold_hint}")
    if args.page:
        with writing(args.page):
            args.page.write_text(page, encoding="utf-8")
    if args.pdf:
        pdf = print_page(page)
        with writing(args.pdf):
            args.pdf.write_bytes(pdf)
    print("\n".join(card_lines(plan, load_language(args.language), args.speed)))
    return 0


def _of_job(args: argparse.Namespace) -> CardPlan:
    if args.car or args.driven or args.shifts or args.symptoms or args.temperature:
        raise StoreError("--job: has its own car, complaint and drives; leave out the others")
    workshop = Workshop.open(args.workshop, create=False)
    job = Jobs(workshop).job(args.job).job
    with show_progress() as progress:
        sides = drives_of_job(workshop, job, progress=progress)
    results = {side: [d.result for d in drives] for side, drives in sides.items()}
    side = args.side or side_of(job)
    return plan_card(job, read_kept_car(workshop, job.car), results[side], side=side, earlier=results["before"])


def _of_car(args: argparse.Namespace) -> CardPlan:
    if args.car is None:
        raise StoreError("card: give --job N, or the car's profile with --car FILE")
    car = read_car(args.car)
    typed = {"symptoms": args.symptoms, "shifts": args.shifts, "temperature": args.temperature}
    values = {key: read_value(FIELD_OF[key], text) for key, text in typed.items()}
    job, driven = changed(Job(car=car.name), values), read_results(args.driven)
    return plan_card(
        job, car, driven, side=args.side or "before", earlier=driven if args.side in (None, "before") else ()
    )


def card_lines(plan: CardPlan, words: Language, speed: str) -> list[str]:
    """All that is printed of a card."""
    lines = [words.say("card.title", car=plan.car), state(plan, words), ""]
    if plan.tests:
        rows = [[words.say(f"card.{t.test}"), str(t.wanted), missing(t, words)] for t in plan.tests]
        heads = [words.say(f"card.{key}") for key in ("tests", "count", "missing")]
        lines += [words.say("card.standing"), table(heads, rows), ""]
    rows = [
        [
            words.say(f"choice.{line.part}"), line.kind, str(line.wanted), engine_speed(line, words),
            road_speed(line, words, speed), ", ".join(map(str, line.had)) or "–", missing(line, words),
        ]
        for line in plan.shifts
    ]  # fmt: skip
    heads = [words.say(f"card.{key}") for key in ("shift", "times", "engine", "speed", "had", "missing")]
    lines += [table([words.say("job.temperature"), *heads], rows), ""] if rows else []
    return [*lines, words.say("card.wanted_why"), "", *cautions(words)]
