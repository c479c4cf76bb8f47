"""URL to choice and back: the URL is the state of the page.

    /                                       the drives
    /car/CAR[/VISIT[/DRIVE[/SHIFT]]]         a car, a visit, a drive, a shift
    /car/CAR/VISIT/DRIVE/neutral             where the lever rested, and what a push straight in would have meant
    /car/CAR/VISIT/DRIVE/cables              what the drive's clearance test says of the cables
    /car/CAR/VISIT/DRIVE/where               where its findings point: adjust, replace outside, open
    /car/CAR/VISIT/DRIVE/seats               where the lever lies in each gear, drawn into the gate
    /car/CAR/VISIT/DRIVE/marks               its marked tests: when what was being done
    /car/CAR/VISIT/DRIVE/tests               what its marked tests say
    /compare                                before and after
    /repeats                                what drives with nothing changed say of the setup
    /profile[/CAR]                          the form of a car's profile
    /job[/NUMBER[/VERSION]]                 the jobs; the record of one, now or as it was
    /job/NUMBER/card, /job/NUMBER/report    its road-test card; the client's page
    /import[/TOKEN]                         logs to be chosen; logs that wait to be added
    /guide[/KIND]                           the guided tests; the card and the prompts of one, or of a sequence

The query holds what is looked at: ``from`` and ``to`` [s of drive time], ``speed`` (km/h or mph), ``before``, ``after``
and ``repeat`` (drive ids), ``measure``, ``drives`` (``all`` of the visit, where a page can take them together).
"""

from collections.abc import Mapping
from dataclasses import dataclass
from urllib.parse import parse_qs, quote, unquote, urlencode

KMH, MPH = "km/h", "mph"
NO_VISIT = "-"
_PAGES = {1: "car", 2: "visit", 3: "drive", 4: "shift"}


@dataclass(frozen=True, kw_only=True)
class Place:
    """Where one is.

    page : drives, car, visit, drive, shift, compare, repeats, profile, import, guide, lost, or a key of OF_A_DRIVE
    token : of logs that wait; kind : of guided test, or the name of a sequence of them
    """

    page: str
    car: str | None = None
    visit: str | None = None
    drive: str | None = None
    shift: int | None = None
    token: str | None = None
    kind: str | None = None
    job: int | None = None
    version: int | None = None


@dataclass(frozen=True, kw_only=True)
class Query:
    """What is looked at. window_s : (from, to) in drive time, or None for all of it."""

    window_s: tuple[float, float] | None = None
    speed: str = KMH
    before: tuple[str, ...] = ()
    after: tuple[str, ...] = ()
    repeat: tuple[str, ...] = ()
    measure: str | None = None
    whole_visit: bool = False


NEUTRAL, SEATS, CABLES, WHERE = "neutral", "seats", "cables", "where"
MARKS, TESTS = "marks", "tests"
OF_A_DRIVE = {
    NEUTRAL: "neutral",
    SEATS: "seats in the gate",
    CABLES: "cables",
    WHERE: "adjust, outside or open",
    MARKS: "marked tests",
    TESTS: "test results",
}
"""Pages of a drive beside its shifts, by the last part of their path, and what the way back calls them."""

DRIVES = Place(page="drives")
COMPARE = Place(page="compare")
REPEATS = Place(page="repeats")
IMPORT = Place(page="import")
GUIDE = Place(page="guide")
JOBS = Place(page="jobs")
OF_A_JOB = {"card": "job_card", "report": "job_report"}
"""Pages of a job beside its record, by the last part of their path."""


def read_path(pathname: str | None) -> Place:
    """The place of a path; ``lost`` where there is none."""
    parts = [unquote(part) for part in (pathname or "/").split("/") if part]
    if not parts:
        return DRIVES
    head, rest = parts[0], parts[1:]
    if head == "compare" and not rest:
        return COMPARE
    if head == "repeats" and not rest:
        return REPEATS
    if head == "profile" and len(rest) <= 1:
        return Place(page="profile", car=rest[0] if rest else None)
    if head == "import" and len(rest) <= 1:
        return Place(page="import", token=rest[0] if rest else None)
    if head == "guide" and len(rest) <= 1:
        return Place(page="guide", kind=rest[0] if rest else None)
    if head == "job" and len(rest) <= 2:
        return _in_job(rest)
    if head == "car" and len(rest) in _PAGES:
        return _in_car(rest)
    return Place(page="lost")


def _in_car(rest: list[str]) -> Place:
    if len(rest) == 4 and rest[3] in OF_A_DRIVE:
        return Place(page=rest[3], car=rest[0], visit=rest[1], drive=rest[2])
    number = rest[3] if len(rest) == 4 else None
    if number is not None and not number.isascii() or number is not None and not number.isdigit():
        return Place(page="lost")
    visit, drive = (rest[1:3] + [None, None])[:2]
    shift = None if number is None else int(number)
    return Place(page=_PAGES[len(rest)], car=rest[0], visit=visit, drive=drive, shift=shift)


def _in_job(rest: list[str]) -> Place:
    if not rest:
        return JOBS
    job, last = _number(rest[0]), rest[1] if len(rest) == 2 else None
    version = None if last is None else _number(last)
    if job is None or (last is not None and last not in OF_A_JOB and version is None):
        return Place(page="lost")
    return Place(page=OF_A_JOB.get(last or "", "job"), job=job, version=version)


def _number(text: str) -> int | None:
    return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else None


def write_path(place: Place) -> str:
    """The path of a place."""
    if place.page in ("jobs", "job", *OF_A_JOB.values()):
        last = next((word for word, page in OF_A_JOB.items() if page == place.page), place.version)
        return "/" + "/".join(str(part) for part in ("job", place.job, last) if part is not None)
    if place.page in ("drives", "lost"):
        return "/"
    if place.page in ("compare", "repeats"):
        return f"/{place.page}"
    head = place.page if place.page in ("profile", "import", "guide") else "car"
    last = place.page if place.page in OF_A_DRIVE else None if place.shift is None else str(place.shift)
    parts = [head, *(p for p in (place.car, place.visit, place.drive, last, place.token, place.kind) if p is not None)]
    return "/" + "/".join(quote(part, safe="") for part in parts)


def read_query(search: str | None) -> Query:
    """What a query asks for; a part that makes no sense is passed over."""
    given = {key: values[-1] for key, values in parse_qs((search or "").lstrip("?")).items()}
    return Query(
        window_s=_window(given),
        speed=MPH if given.get("speed") == MPH else KMH,
        before=_ids(given.get("before")),
        after=_ids(given.get("after")),
        repeat=_ids(given.get("repeat")),
        measure=given.get("measure"),
        whole_visit=given.get("drives") == "all",
    )


def _window(given: Mapping[str, str]) -> tuple[float, float] | None:
    try:
        start_s, end_s = float(given["from"]), float(given["to"])
    except (KeyError, ValueError):
        return None
    finite = abs(start_s) < 1e9 and abs(end_s) < 1e9
    return (start_s, end_s) if finite and end_s > start_s else None


def _ids(text: str | None) -> tuple[str, ...]:
    return tuple(part for part in (text or "").split(",") if part)


def write_query(query: Query) -> str:
    """The query as text with its question mark, or an empty text."""
    pairs = {}
    if query.window_s is not None:
        pairs |= {"from": f"{query.window_s[0]:.3f}", "to": f"{query.window_s[1]:.3f}"}
    if query.speed != KMH:
        pairs["speed"] = query.speed
    if query.before:
        pairs["before"] = ",".join(query.before)
    if query.after:
        pairs["after"] = ",".join(query.after)
    if query.repeat:
        pairs["repeat"] = ",".join(query.repeat)
    if query.measure:
        pairs["measure"] = query.measure
    if query.whole_visit:
        pairs["drives"] = "all"
    return "?" + urlencode(pairs, safe=",/") if pairs else ""


def link(place: Place, query: Query = Query()) -> str:
    """Path and query of a place."""
    return write_path(place) + write_query(query)


def page_key(pathname: str | None, search: str | None) -> str:
    """What of the URL the frame of a page depends on: not what pictures alone depend on (zoom)."""
    query = read_query(search)
    drives = "all" if query.whole_visit else ""
    chosen = (",".join(some) for some in (query.before, query.after, query.repeat))
    return "|".join((pathname or "/", query.speed, *chosen, drives))
