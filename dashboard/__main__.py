"""Serving the dashboard from this machine, on the user's own drives or on made-up ones."""

import os
import socket
import sys
import tempfile
import threading
import webbrowser
from argparse import Namespace
from collections.abc import Callable
from pathlib import Path

from cheroot.wsgi import Server

from dashboard.app import make_app
from dashboard.demo_job import add_demo_job
from dashboard.hosts import WILDCARDS, check_hosts
from dashboard.library import Library
from shiftlog import __version__
from shiftlog.errors import StoreError
from shiftlog.synth.demo import make_demo

HOST, PORT = "127.0.0.1", 8052
TRIED_PORTS = 20
DEMO_DONE = "demo-made-by"
THREADS = 8


def serve(args: Namespace) -> int:
    """Open the workshop and serve it until interrupted."""
    root = args.workshop or Path("workshop")
    library = Library.open(Path(root))
    return _serve(library, args)


def demo(args: Namespace) -> int:
    """Make the demo drives, measure them, and serve them."""
    root = Path(args.workshop or user_cache() / f"demo-{__version__}")
    library = Library.open(root)
    prepare_demo(library, say=lambda text: print(text, file=sys.stderr, flush=True))
    return _serve(library, args)


def prepare_demo(library: Library, *, say: Callable[[str], None]) -> None:
    """Fill a library with the demo drives, unless this version has done so before."""
    done = library.root / DEMO_DONE
    if done.is_file() and done.read_text(encoding="utf-8") == __version__:
        return
    with tempfile.TemporaryDirectory() as folder:
        for drive_folder in make_demo(Path(folder), progress=say):
            say(f"measuring {drive_folder.name}")
            library.measure(library.copy_in(drive_folder))
    add_demo_job(library)
    done.write_text(__version__, encoding="utf-8")


def user_cache() -> Path:
    """The folder in which this user keeps what can be made again."""
    if sys.platform == "win32":
        base = Path(os.environ.get("LOCALAPPDATA", Path.home() / "AppData" / "Local"))
    elif sys.platform == "darwin":
        base = Path.home() / "Library" / "Caches"
    else:
        base = Path(os.environ.get("XDG_CACHE_HOME", Path.home() / ".cache"))
    return base / "shiftlog"


def make_server(library: Library, *, host: str, port: int) -> Server:
    """A server of the dashboard, not started; it answers to this machine's names and to ``host``."""
    app = check_hosts(make_app(library).server, bound=host)
    return Server((host, port), app, numthreads=THREADS, server_name="shiftlog")


def free_port(host: str, wanted: int | None) -> int:
    """The port asked for; else the first free one from the usual on. StoreError where it is taken."""
    ports = [wanted] if wanted is not None else range(PORT, PORT + TRIED_PORTS)
    for port in ports:
        with socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET) as probe:
            if os.name == "posix":
                # As the server itself does: a port just left is free, though the system still waits on its last call.
                probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                probe.bind((host, port))
            except OSError:
                continue
            return probe.getsockname()[1]
    raise StoreError(f"port {wanted or PORT} on {host}: is in use or not allowed; name another with --port")


def _serve(library: Library, args: Namespace) -> int:
    host = args.host or HOST
    server = make_server(library, host=host, port=free_port(host, args.port))
    server.prepare()
    url = f"http://{_at(host)}:{server.bind_addr[1]}/"
    print(f"The dashboard is at {url} (stop with Ctrl+C). Workshop: {library.root}", flush=True)
    if host not in ("127.0.0.1", "localhost", "::1"):
        print("Everyone on this network can read and add drives here.", file=sys.stderr)
    if not args.no_browser:
        threading.Thread(target=webbrowser.open, args=(url,), daemon=True).start()
    try:
        server.serve()
    except KeyboardInterrupt:
        pass
    finally:
        server.stop()
    return 0


def _at(host: str) -> str:
    """The address to open on this machine."""
    host = "127.0.0.1" if host in WILDCARDS else host
    return f"[{host}]" if ":" in host else host
