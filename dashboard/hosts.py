"""Only requests that name this machine are answered: a page elsewhere whose name was made to point here is not."""

import socket
from collections.abc import Callable, Iterable
from ipaddress import ip_address

LOCAL = ("localhost", "127.0.0.1", "::1")
WILDCARDS = ("0.0.0.0", "::")
"""Every address of this machine."""

Wsgi = Callable[[dict, Callable], Iterable[bytes]]


def check_hosts(app: Wsgi, *, bound: str) -> Wsgi:
    """``app`` for requests whose Host is this machine or ``bound``, what it was told to listen on; 403 for others."""

    def checked(environ: dict, start_response: Callable) -> Iterable[bytes]:
        host = read_host(environ.get("HTTP_HOST", ""))
        if _is_allowed(host, bound):
            return app(environ, start_response)
        line = f"This dashboard does not answer to the name {host or '(none)'}; open it at localhost.\n".encode()
        plain = [("Content-Type", "text/plain; charset=utf-8"), ("Content-Length", str(len(line)))]
        start_response("403 Forbidden", plain)
        return [line]

    return checked


def read_host(header: str) -> str:
    """The name or address of a Host header, without port and brackets, in small letters."""
    header = header.strip().lower()
    if header.startswith("["):
        return header[1:].partition("]")[0]
    return header.rpartition(":")[0] if header.count(":") == 1 else header


def _is_allowed(host: str, bound: str) -> bool:
    if host in (*LOCAL, bound.lower().strip("[]")):
        return True
    return bound in WILDCARDS and (_is_address(host) or host in _own_names())


def _is_address(host: str) -> bool:
    """A plain address cannot be made to point elsewhere, as a name can."""
    try:
        ip_address(host)
    except ValueError:
        return False
    return True


def _own_names() -> tuple[str, str]:
    name = socket.gethostname().lower()
    return name, f"{name}.local"
