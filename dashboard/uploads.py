"""Files sent by the page, straight from the browser to the disk."""

from urllib.parse import urlsplit

import dash
from flask import Response, jsonify, request

from dashboard.incoming import BLOCK, MOST_BYTES, Incoming
from shiftlog.errors import StoreError


def register_uploads(app: dash.Dash, incoming: Incoming) -> None:
    """Two addresses: one that begins, and one for each file. Both answer in JSON; ``why`` says what was wrong."""

    @app.server.put("/incoming")
    def begin() -> tuple[Response, int]:
        return refuse_strangers() or (jsonify(token=incoming.begin()), 200)

    @app.server.put("/incoming/<token>/<path:name>")
    def receive(token: str, name: str) -> tuple[Response, int]:
        refused = refuse_strangers()
        if refused:
            return refused
        size = request.content_length
        try:
            if size is None:
                raise StoreError(f"{name}: its size is not known; send it again")
            answer = jsonify(name=incoming.receive(token, name, request.stream, size=size)), 200
        except StoreError as error:
            # 200 all the same: a file that cannot be used is an answer and no fault of the exchange.
            answer = jsonify(why=str(error)), 200
        _drain()
        return answer


def refuse_strangers() -> tuple[Response, int] | None:
    """A page of another address must not write here."""
    origin = request.headers.get("Origin")
    if origin is not None and urlsplit(origin).netloc != request.host:
        return jsonify(why="only a page of this address may send files"), 403
    return None


def _drain() -> None:
    """Read what is left of a refused file, so that the browser hears the answer."""
    left = MOST_BYTES
    while left > 0 and (block := request.stream.read(BLOCK)):
        left -= len(block)
