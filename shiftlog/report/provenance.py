"""The figures and inputs of a page as JSON inside it, and a seal over what the page says."""

import hashlib
import json
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from shiftlog.errors import StoreError
from shiftlog.model.job import SYMPTOMS, TEMPERATURES
from shiftlog.report.content import Content, DriveUsed
from shiftlog.report.figures import RECHECK, SIDES, drive_figures, pooled_figures
from shiftlog.report.language import KMH, MPH, languages
from shiftlog.report.markup import Html
from shiftlog.report.masking import Mask

FORMAT = 3
HISTORY = "history"
PARTS = (*SIDES, RECHECK, HISTORY)
MOST_JOBS = 2**31
MOST_BYTES = 200_000_000
_ID = "shiftlog-figures"
_PLACE = f'<script type="application/json" id="{_ID}"></script>'
_FOUND = re.compile(rf'<script type="application/json" id="{_ID}">(.*?)</script>', re.DOTALL)


def place_of_figures() -> Html:
    """Where the figures go when the page is sealed."""
    return Html(_PLACE)


def seal_page(page: str, content: Content, mask: Mask, *, shiftlog: str, made: str, wishes: Mapping[str, Any]) -> str:
    """The page with its figures, and with a seal over all the rest of it. wishes : what it was made with"""
    version = content.version
    drives = {**content.given, HISTORY: content.history}
    document = {
        "format": FORMAT, "shiftlog": shiftlog, "made": made, **wishes, "car": mask.text(content.car),
        "job": {"id": version.id, "version": version.version, "shifts": list(version.job.shifts),
                "symptoms": list(version.job.symptoms), "temperature": version.job.temperature} if version else None,
        "drives": {side: [_drive(d, mask) for d in drives.get(side, ())] for side in PARTS},
        "limits": dict(content.limits), "cold_only": bool(content.cold_said), "figures": pooled_figures(content),
        "figures_of_drives": drive_figures(content), "page": page_seal(page),
    }  # fmt: skip
    text = json.dumps(document, ensure_ascii=False, allow_nan=False).replace("<", "\\u003c")
    return page.replace(_PLACE, _PLACE.replace("></script>", f">{text}</script>"), 1)


def _drive(drive: DriveUsed, mask: Mask) -> dict[str, Any]:
    result = drive.result
    inputs = [{"file": mask.text(f.file), "sha256": f.sha256, "bytes": f.size_bytes} for f in result.inputs]
    return {
        "id": drive.id, "name": mask.text(result.head.id), "shiftlog": result.version,
        "settings": dict(result.settings), "inputs": inputs,
    }  # fmt: skip


def bare_page(page: str) -> str:
    """A page without the figures it carries."""
    return _FOUND.sub(_PLACE, page)


def page_seal(page: str) -> str:
    """sha256 over a page without its figures."""
    return hashlib.sha256(bare_page(page).encode()).hexdigest()


@dataclass(frozen=True, eq=False, kw_only=True)
class ReadPage:
    """A page as it was found. text : without its figures; document : its figures; whole : its seal holds"""

    text: str
    document: Mapping[str, Any]
    whole: bool


def read_page(path: Path) -> ReadPage:
    """A page with the figures it carries, and whether it still says what it said when it was made. StoreError."""
    text = _read(path)
    found = _FOUND.search(text)
    if found is None:
        raise StoreError(f"{path}: carries no figures of shiftlog; give a page that `shiftlog report` wrote")
    try:
        document = json.loads(found[1], parse_constant=_no_number)
    except (ValueError, RecursionError) as error:
        raise StoreError(f"{path}: its figures are damaged ({error}); give the page as it was made") from error
    _check(document, path)
    return ReadPage(text=bare_page(text), document=document, whole=document["page"] == page_seal(text))


def _no_number(name: str) -> float:
    raise ValueError(f"{name} is no number")


def _read(path: Path) -> str:
    try:
        if path.stat().st_size > MOST_BYTES:
            raise StoreError(f"{path}: is too large for a page of shiftlog; give a page that `shiftlog report` wrote")
        return path.read_bytes().decode("utf-8")
    except OSError as error:
        raise StoreError(f"{path}: cannot be read ({error.strerror or error}); name a page") from error
    except UnicodeDecodeError as error:
        raise StoreError(f"{path}: is no page of shiftlog; give a page that `shiftlog report` wrote") from error


def _check(document: Any, path: Path) -> None:
    """What ``verify`` leans on is there, and of its kind. StoreError names what is damaged."""
    form = document.get("format") if isinstance(document, Mapping) else None
    if form != FORMAT:
        raise StoreError(f"{path}: figures of format {form!r} are not known; this version reads format {FORMAT}")
    for key, is_right in _RIGHT.items():
        if not is_right(document.get(key)):
            raise StoreError(f"{path}: its figures are damaged ({key}); give the page as it was made")


def _are_texts(value: Any) -> bool:
    return isinstance(value, list) and all(isinstance(one, str) for one in value)


def _is_job(job: Any) -> bool:
    return job is None or (
        isinstance(job, Mapping)
        and all(type(job.get(key)) is int and 0 < job[key] < MOST_JOBS for key in ("id", "version"))
        and all(_are_texts(job.get(key)) for key in ("shifts", "symptoms"))
        and set(job["symptoms"]) <= set(SYMPTOMS)
        and job.get("temperature") in ("", *TEMPERATURES)
    )


def _are_drives(drives: Any) -> bool:
    return isinstance(drives, Mapping) and all(
        isinstance(drives.get(side), list) and all(_is_drive(one) for one in drives[side]) for side in PARTS
    )


def _is_drive(drive: Any) -> bool:
    return (
        isinstance(drive, Mapping)
        and isinstance(drive.get("name"), str)
        and isinstance(drive.get("shiftlog"), str)
        and isinstance(drive.get("id", ""), str | None)
        and isinstance(drive.get("settings"), Mapping)
        and isinstance(drive.get("inputs"), list)
        and all(isinstance(f, Mapping) and _are_texts([f.get("file"), f.get("sha256")]) for f in drive["inputs"])
    )


def _are_limits(limits: Any) -> bool:
    """Numbers, or numbers by gear."""
    if not isinstance(limits, Mapping):
        return False
    each = [n for one in limits.values() for n in (one.values() if isinstance(one, Mapping) else (one,))]
    return all(isinstance(n, int | float) and not isinstance(n, bool) for n in each)


def _are_figures(figures: Any) -> bool:
    return isinstance(figures, Mapping) and all(isinstance(some, Mapping) for some in figures.values())


_RIGHT: Mapping[str, Callable[[Any], bool]] = {
    **{key: lambda value: isinstance(value, str) for key in ("shiftlog", "made", "car", "page")},
    "language": lambda value: value in languages(), "speed": lambda value: value in (KMH, MPH),
    "show_plate": lambda value: isinstance(value, bool), "cold_only": lambda value: isinstance(value, bool),
    "job": _is_job, "drives": _are_drives, "limits": _are_limits,
    "figures": lambda value: isinstance(value, Mapping), "figures_of_drives": _are_figures,
}  # fmt: skip
"""What each part of a page's figures has to be."""
