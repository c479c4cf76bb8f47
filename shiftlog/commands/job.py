"""`shiftlog job`: the record of a car's visit: begin it, fill it in, look at it and at what it was before."""

import argparse
import sys
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict
from pathlib import Path

from shiftlog.commands.terminal import say, table, write_json
from shiftlog.errors import StoreError
from shiftlog.model.job import FIELD_OF, FIELDS, GROUPS, PHOTO_OF, SIDES, TEMPERATURES, Job, JobVersion
from shiftlog.report.cold_words import say_hint, suggest_temperature
from shiftlog.store.job_values import find_changes, say_value
from shiftlog.store.jobs import Jobs
from shiftlog.store.photos import read_photo_file
from shiftlog.store.workshop import Workshop

_VALUE = r"photo: a file; drive: a folder or an id; table: 'cell; cell; cell', with \; for ; in a cell"
TABLES = tuple(f.key for f in FIELDS if f.kind == "table")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of the command and of each of its actions."""
    actions = parser.add_subparsers(title="actions", metavar="ACTION", dest="action", required=True)
    shared = argparse.ArgumentParser(add_help=False)
    shared.add_argument("--workshop", type=Path, default=Path("workshop"), metavar="DIR", help="the workshop folder")
    writes = argparse.ArgumentParser(add_help=False)
    writes.add_argument("--by", default="", metavar="NAME", help="who writes this")
    actions.add_parser("list", parents=[shared], help="list the jobs, the newest first")
    new = actions.add_parser("new", parents=[shared, writes], help="begin a job")
    new.add_argument("car", help="the car's name in the workshop")
    new.add_argument("complaint", nargs="?", default="", help="in the client's own words")
    new.add_argument("--temperature", choices=TEMPERATURES, default="", help="when the complaint comes")
    show = _of_a_job(actions, "show", shared, "show a job, or what it was before")
    show.add_argument("--version", type=int, metavar="N", help="an earlier version")
    show.add_argument("--json", metavar="FILE", help="write it there; - for standard output")
    fill = _of_a_job(actions, "set", shared, "fill in fields: set 3 fluid '1.9 l' plug 'brass flakes'", writes)
    fill.add_argument("pairs", nargs="+", metavar="FIELD TEXT", help=f"- reads standard input; {', '.join(FIELD_OF)}")
    _add_adding(actions, shared, writes)
    _of_a_job(actions, "history", shared, "list all versions, and what each changed")


def _of_a_job(actions, name: str, shared, text: str, *more) -> argparse.ArgumentParser:
    parser = actions.add_parser(name, parents=[shared, *more], help=text, description=text)
    parser.add_argument("job", type=int, help="the job's number")
    return parser


def _add_adding(actions, shared, writes) -> None:
    add = _of_a_job(actions, "add", shared, "add a photo, a drive, or a row of a table", writes)
    add.add_argument("what", choices=("photo", "drive", *TABLES))
    add.add_argument("value", help=_VALUE)
    add.add_argument("--of", choices=PHOTO_OF, default="other", help="what the photo shows")
    add.add_argument("--caption", default="", help="what to see in the photo")
    add.add_argument("--side", choices=SIDES, default="before", help="which drives the drive belongs to")


def run(args: argparse.Namespace) -> int:
    """Run one action."""
    workshop = Workshop.open(args.workshop, create=False)
    return _ACTIONS[args.action](args, workshop, Jobs(workshop))


def _list(args: argparse.Namespace, workshop: Workshop, jobs: Jobs) -> int:
    rows = [[str(v.id), v.job.car, v.job.order, _first_line(v.job.complaint), v.saved[:10]] for v in jobs.all()]
    print(table(["job", "car", "order", "complaint", "saved"], rows) if rows else "There is no job yet.")
    return 0


def _first_line(text: str) -> str:
    line = text.partition("\n")[0]
    return line if len(line) <= 60 else line[:59] + "…"


def _new(args: argparse.Namespace, workshop: Workshop, jobs: Jobs) -> int:
    cars = [car.name for car in workshop.cars()]
    if args.car not in cars:
        known = f"it has {', '.join(cars)}" if cars else "it has none yet"
        mend = "the dashboard's page New car makes its profile, and a drive that is added there brings its own"
        raise StoreError(f"{args.car}: is no car of this workshop, {known}; {mend}")
    begun = jobs.new(Job(car=args.car, temperature=args.temperature), by=args.by)
    if args.complaint:
        begun = jobs.set(begun.id, {"complaint": args.complaint}, by=args.by)
    print(f"Job {begun.id}, {args.car}. Fill it in with: shiftlog job set {begun.id} FIELD TEXT")
    _suggest(begun)
    return 0


def _suggest(version: JobVersion) -> None:
    """What the client's words suggest of cold and hot, where nobody has said so yet."""
    hint = None if version.job.temperature else suggest_temperature(version.job.complaint)
    if hint is not None:
        print(f"{say_hint(hint)} shiftlog job set {version.id} temperature {hint.temperature}")


def _show(args: argparse.Namespace, workshop: Workshop, jobs: Jobs) -> int:
    version = jobs.job(args.job, args.version)
    if args.json:
        head = {"id": version.id, "version": version.version, "saved": version.saved, "by": version.by}
        write_json({"format": 1, **head, "job": asdict(version.job)}, args.json)
    if args.json != "-":
        print("\n".join(job_lines(version, _names(workshop))))
        _suggest(version)
    say_unsealed(jobs.history(args.job))
    return 0


def _set(args: argparse.Namespace, workshop: Workshop, jobs: Jobs) -> int:
    if len(args.pairs) % 2:
        raise StoreError(f"{args.pairs[-1]}: has no text; give each field and its text, an empty one empties it: ''")
    given = dict(zip(args.pairs[::2], args.pairs[1::2], strict=True))
    given = {key: sys.stdin.read() if text == "-" else text for key, text in given.items()}
    _check(given, workshop)
    base, saved = jobs.job(args.job), jobs.set(args.job, given, by=args.by)
    code = _saved(base, saved)
    if "complaint" in given:
        _suggest(saved)
    return code


def _check(given: Mapping[str, str], workshop: Workshop) -> None:
    """Cars and drives must be the workshop's own. StoreError."""
    if "car" in given and given["car"] not in [car.name for car in workshop.cars()]:
        raise StoreError(f"{given['car']}: is no car of this workshop")
    for key in given:
        if key.startswith("drives_"):
            for drive_id in filter(None, (part.strip() for part in given[key].split(","))):
                workshop.drive(drive_id)


def _add(args: argparse.Namespace, workshop: Workshop, jobs: Jobs) -> int:
    base = jobs.job(args.job)
    if args.what == "photo":
        path = Path(args.value)
        data = read_photo_file(path)
        saved = jobs.add_photo(args.job, data, name=path.name, of=args.of, caption=args.caption, by=args.by)
        return _saved(base, saved)
    if args.what == "drive":
        drive_id = _drive_id(args.value, workshop)
        return _saved(base, jobs.append(args.job, f"drives_{args.side}", drive_id, by=args.by))
    return _saved(base, jobs.append(args.job, args.what, args.value, by=args.by))


def _drive_id(value: str, workshop: Workshop) -> str:
    """The id of a drive of the workshop; a folder is copied in first."""
    return workshop.add_drive(Path(value)) if Path(value).is_dir() else workshop.drive(value).id


def _saved(base: JobVersion, saved: JobVersion) -> int:
    if saved.version == base.version:
        print(f"Job {saved.id}: nothing changed, version {saved.version} stands.")
    else:
        print(f"Job {saved.id}: saved as version {saved.version}. Version {base.version} stays readable.")
    return 0


def _history(args: argparse.Namespace, workshop: Workshop, jobs: Jobs) -> int:
    versions = jobs.history(args.job)
    print("\n".join(line for k, v in enumerate(versions) for line in _version_lines(v, versions[k - 1] if k else None)))
    say_unsealed(versions)
    return 0


def say_unsealed(versions: Sequence[JobVersion]) -> None:
    """One line for each version that is no longer as it was saved."""
    for v in versions:
        if not v.sealed:
            say(f"job {v.id}, version {v.version}: was changed by something other than shiftlog")


def _version_lines(version: JobVersion, before: JobVersion | None) -> list[str]:
    by = f" by {version.by}" if version.by else ""
    changes = find_changes(before.job if before else Job(car=""), version.job)
    lines = [f"Version {version.version}, {version.saved.replace('+00:00', ' UTC')}{by}"]
    for label, old, new in changes:
        was = f" (was: {_short(old)})" if old else ""
        lines.append(f"  {label}: {_short(new) or 'emptied'}{was}")
    return lines


def _short(text: str) -> str:
    line = " / ".join(text.splitlines())
    return line if len(line) <= 80 else line[:79] + "…"


def job_lines(version: JobVersion, names: Mapping[str, str]) -> list[str]:
    """All that is printed of a job. names : of drives, by id"""
    by = f" by {version.by}" if version.by else ""
    lines = [f"Job {version.id}, {version.job.car}, version {version.version} of {version.saved[:10]}{by}"]
    for group in GROUPS:
        filled = [(f, getattr(version.job, f.key)) for f in FIELDS if f.group == group and f.key != "car"]
        filled = [(f, value) for f, value in filled if value not in ("", (), None)]
        if filled:
            lines += ["", group]
            lines += [line for f, value in filled for line in _field_lines(f, value, names)]
    photos = [f"  photo of {p.of}: {p.caption or 'no caption'} ({p.width} × {p.height})" for p in version.job.photos]
    return lines + (["", "Photos", *photos] if photos else [])


def _field_lines(field, value: object, names: Mapping[str, str]) -> list[str]:
    text = say_value(field, value)
    if field.kind == "drives":
        text = ", ".join(f"{names.get(part, 'gone')} ({part})" for part in value)
    rows = f"{text} {field.unit}".strip().splitlines()
    if len(rows) == 1:
        return [f"  {field.label}: {rows[0]}"]
    return [f"  {field.label}:", *(f"    {row}" for row in rows)]


def _names(workshop: Workshop) -> dict[str, str]:
    return {entry.id: entry.name for entry in workshop.drives()}


_ACTIONS: Mapping[str, Callable[[argparse.Namespace, Workshop, Jobs], int]] = {
    "list": _list, "new": _new, "show": _show, "set": _set, "add": _add, "history": _history,
}  # fmt: skip
