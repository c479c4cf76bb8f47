"""Marks on their way from the device that prompted to the one at which the drive is marked."""

import dash
from flask import Response, jsonify, request

from dashboard.library import Library
from dashboard.uploads import refuse_strangers
from shiftlog.errors import StoreError

MOST_BYTES = 256 * 1024
"""Marks of a day full of tests are a tenth of it."""


def register_prompted(app: dash.Dash, library: Library) -> None:
    """Two addresses: one at which a device leaves its marks, and one that gives the last ones left."""

    @app.server.put("/prompted/<device>")
    def leave(device: str) -> tuple[Response, int]:
        refused = refuse_strangers()
        if refused:
            return refused
        if request.content_length is None or request.content_length > MOST_BYTES:
            return jsonify(why=f"marks of more than {MOST_BYTES} bytes are none"), 413
        try:
            library.prompted.keep(device, request.get_data().decode("utf-8", errors="replace"))
        except StoreError as error:
            return jsonify(why=str(error)), 400
        return jsonify(kept=True), 200

    @app.server.get("/prompted")
    def last() -> Response:
        try:
            return Response(library.prompted.newest(), mimetype="text/plain")
        except StoreError as error:
            return Response(f"# {error}", mimetype="text/plain")
