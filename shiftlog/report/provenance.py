"""The figures and inputs of a page as JSON inside it, and a seal over what the page says."""

import hashlib
import json
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from shiftlog.errors import StoreError
from shiftlog.report.content import Content, DriveUsed
from shiftlog.report.figures import SIDES, drive_figures, pooled_figures
from shiftlog.report.markup import Html
from shiftlog.report.masking import Mask

FORMAT = 2
MOST_BYTES = 200_000_000
_ID = "shiftlog-figures"
_PLACE = f'<script type="application/json" id="{_ID}"></script>'
_FOUND = re.compile(rf'<script type="application/json" id="{_ID}">(.*?)</script>', re.DOTALL)


def place_of_figures() -> Html:
    """Where the figures go when the page is sealed."""
    return Html(_PLACE)


def seal_page(page: str, content: Content, mask: Mask, *, shiftlog: str, made: str) -> str:
    """The page with its figures, and with a seal over all the rest of it."""
    version = content.version
    document = {
        "format": FORMAT, "shiftlog": shiftlog, "made": made, "car": mask.text(content.car),
        "job": {"id": version.id, "version": version.version, "shifts": list(version.job.shifts),
                "symptoms": list(version.job.symptoms), "temperature": version.job.temperature} if version else None,
        "drives": {side: [_drive(d, mask) for d in getattr(content, side)] for side in (*SIDES, "history")},
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


def page_seal(page: str) -> str:
    """sha256 over a page without its figures."""
    return hashlib.sha256(_FOUND.sub(_PLACE, page).encode()).hexdigest()


def read_figures(path: Path) -> tuple[Mapping[str, Any], bool]:
    """The figures a page carries, and whether the page still says what it said when it was made. StoreError."""
    text = _read(path)
    found = _FOUND.search(text)
    if found is None:
        raise StoreError(f"{path}: carries no figures of shiftlog; give a page that `shiftlog report` wrote")
    try:
        document = json.loads(found[1])
    except ValueError as error:
        raise StoreError(f"{path}: its figures are damaged ({error}); give the page as it was made") from error
    _check(document, path)
    return document, document.get("page") == page_seal(text)


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
    """What ``verify`` leans on is there."""
    if not isinstance(document, Mapping) or document.get("format") != FORMAT:
        form = document.get("format") if isinstance(document, Mapping) else None
        raise StoreError(f"{path}: figures of format {form!r} are not known; this version reads format {FORMAT}")
    whole = (
        isinstance(document.get("figures"), Mapping)
        and isinstance(document.get("figures_of_drives"), Mapping)
        and isinstance(document.get("drives"), Mapping)
        and all(_is_drive(d) for side in (*SIDES, "history") for d in document["drives"].get(side, [None]))
    )
    if not whole:
        raise StoreError(f"{path}: its figures are damaged; give the page as it was made")


def _is_drive(drive: Any) -> bool:
    return (
        isinstance(drive, Mapping)
        and isinstance(drive.get("name"), str)
        and isinstance(drive.get("settings"), Mapping)
        and all(isinstance(f, Mapping) and {"file", "sha256"} <= f.keys() for f in drive.get("inputs", [None]))
    )
