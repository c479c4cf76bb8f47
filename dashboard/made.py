"""Addresses of what is made: the client's page, the card, their PDFs, and photos in both directions."""

from collections.abc import Callable

import dash
from flask import Response, jsonify, request

from dashboard.desk import card_page, report_page
from dashboard.library import Library
from dashboard.parts.job_form import photo_words
from dashboard.uploads import refuse_strangers
from shiftlog.errors import ShiftlogError, StoreError
from shiftlog.model.job import SIDES
from shiftlog.report.language import KMH, MPH
from shiftlog.report.page import Wishes
from shiftlog.report.print_page import print_page

HTML, PDF, JPEG = "text/html; charset=utf-8", "application/pdf", "image/jpeg"
MOST_BYTES = 25_000_000
THUMBNAIL_PX = 480


def register_made(app: dash.Dash, library: Library) -> None:
    """All of them on the app's server."""
    _register_pages(app, library)
    _register_photos(app, library)


def _register_pages(app: dash.Dash, library: Library) -> None:
    @app.server.get("/made/job/<int:job_id>/report.<ending>")
    def report(job_id: int, ending: str) -> Response:
        wishes = Wishes(language=_asked("language", "en"), speed=_speed(), show_plate=_asked("plate", "") == "shown")
        return _answer(f"report-{job_id}", ending, lambda: report_page(library, job_id, wishes))

    @app.server.get("/made/job/<int:job_id>/card.<ending>")
    def card(job_id: int, ending: str) -> Response:
        side = _asked("side", "")
        wanted = side if side in SIDES else None
        return _answer(
            f"card-{job_id}", ending,
            lambda: card_page(library, job_id, side=wanted, language=_asked("language", "en"), speed=_speed()),
        )  # fmt: skip


def _asked(name: str, otherwise: str) -> str:
    return request.args.get(name, otherwise)


def _speed() -> str:
    return MPH if _asked("speed", KMH) == MPH else KMH


def _answer(name: str, ending: str, make: Callable[[], str]) -> Response:
    """The page or its PDF; what is wrong as one line of plain text."""
    if ending not in ("html", "pdf"):
        return Response(f"{ending}: is neither html nor pdf", status=404, mimetype="text/plain")
    try:
        page = make()
        body, kind = (page, HTML) if ending == "html" else (print_page(page), PDF)
    except ShiftlogError as error:
        return Response(str(error), status=409, mimetype="text/plain")
    answer = Response(body, content_type=kind)
    if _asked("keep", ""):
        answer.headers["Content-Disposition"] = f'attachment; filename="{name}.{ending}"'
    return answer


def _register_photos(app: dash.Dash, library: Library) -> None:
    @app.server.get("/made/photo/<sha256>.jpg")
    def photo(sha256: str) -> Response:
        data = library.jobs.small_photo(sha256, longest_px=THUMBNAIL_PX)
        if data is None:
            return Response("this photo is gone, or was changed", status=404, mimetype="text/plain")
        return Response(data, mimetype=JPEG)

    @app.server.put("/made/job/<int:job_id>/photo")
    def add_photo(job_id: int) -> tuple[Response, int]:
        refused = refuse_strangers()
        if refused:
            return refused
        name = _asked("name", "photo")
        try:
            data = _read(name)
            saved = library.jobs.add_photo(
                job_id, data, name=name, of=_asked("of", "other"), caption=_asked("caption", ""), by=_asked("by", "")
            )
        except StoreError as error:
            # 200 all the same: a file that cannot be used is an answer and no fault of the exchange.
            return jsonify(why=str(error)), 200
        photo = saved.job.photos[-1]
        return jsonify(version=saved.version, sha256=photo.sha256, words=photo_words(photo)), 200


def _read(name: str) -> bytes:
    """The body, not more than a photo may have. StoreError."""
    size = request.content_length or 0
    if size > MOST_BYTES:
        raise StoreError(
            f"{name}: has {size / 1e6:.0f} MB; a photo may have {MOST_BYTES / 1e6:.0f} MB, make it smaller"
        )
    return request.stream.read(MOST_BYTES + 1)
