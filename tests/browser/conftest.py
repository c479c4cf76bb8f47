"""A real server over a small workshop, and a browser that reports what it must never see."""

import os
import shutil
import threading
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

from dashboard.__main__ import make_server
from dashboard.library import Library
from shiftlog.store.workshop import Workshop
from shiftlog.synth.recorder import Sensors
from shiftlog.synth.scenario import make_drive

FLAGS = [
    "--no-sandbox",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
DRIVES = (
    ("cold-1", "before", "worn"),
    ("cold-2", "before", "worn"),
    ("warm-1", "after", "healthy"),
    ("warm-2", "after", "healthy"),
)


@dataclass(frozen=True)
class Served:
    """Where the dashboard is, and the workshop behind it."""

    url: str
    library: Library
    drive_ids: dict[str, str]


@dataclass
class Watched:
    """A page with everything it asked for outside this machine and every error it reported."""

    page: Page
    outside: list[str] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)


def find_browser() -> str | None:
    """The machine's own Chromium or Chrome."""
    names = ("chromium", "chromium-browser", "google-chrome", "chrome")
    return next((path for path in map(shutil.which, names) if path), None)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    path = find_browser()
    if path is None:
        if os.environ.get("CI"):
            pytest.fail("no Chromium on this machine; under CI it must be there")
        pytest.skip("no Chromium on this machine; install it to run the browser tests")
    with sync_playwright() as playwright:
        launched = playwright.chromium.launch(executable_path=path, args=FLAGS)
        yield launched
        launched.close()


@pytest.fixture(scope="session")
def drive_root(tmp_path_factory):
    """Drive folders: two before, two after."""
    root = tmp_path_factory.mktemp("drives")
    for seed, (name, stage, health) in enumerate(DRIVES):
        drive = make_drive(car="hatch5", seed=seed + 1, health=health, minutes=2.0, sensors=Sensors(body_rate_hz=None))
        drive.write(root / name, stage=stage)
    return root


@pytest.fixture(scope="session")
def served(tmp_path_factory, drive_root) -> Iterator[Served]:
    library = Library(Workshop.open(tmp_path_factory.mktemp("workshop")))
    drive_ids = {name: library.copy_in(drive_root / name) for name, _, _ in DRIVES}
    for drive_id in drive_ids.values():
        library.measure(drive_id)
    yield from _serve(library, drive_ids)


@pytest.fixture
def served_empty(tmp_path) -> Iterator[Served]:
    yield from _serve(Library(Workshop.open(tmp_path / "workshop")), {})


@pytest.fixture
def serve() -> Iterator[Callable[[Library], str]]:
    """Serves a library of the test's own and gives its address."""
    with ExitStack() as open_servers:

        def begin(library: Library) -> str:
            return open_servers.enter_context(contextmanager(_serve)(library, {})).url

        yield begin


def _serve(library: Library, drive_ids: dict[str, str]) -> Iterator[Served]:
    server = make_server(library, host="127.0.0.1", port=0)
    server.prepare()
    thread = threading.Thread(target=server.serve, daemon=True)
    thread.start()
    yield Served(url=f"http://127.0.0.1:{server.bind_addr[1]}", library=library, drive_ids=drive_ids)
    server.stop()
    thread.join(10)


@pytest.fixture
def open_page(browser):
    """Opens a page; at the end of the test it must have asked nothing outside and reported no error."""
    opened: list[Watched] = []

    def open_at(url: str, *, width: int = 1400, scheme: str = "light") -> Page:
        phone = width < 600
        context = browser.new_context(
            viewport={"width": width, "height": 844 if phone else 900},
            color_scheme=scheme,
            is_mobile=phone,
            has_touch=phone,
        )
        watched = Watched(page=context.new_page())
        _watch(watched)
        opened.append(watched)
        watched.page.goto(url)
        watched.page.wait_for_selector("h1")
        return watched.page

    yield open_at
    for watched in opened:
        watched.page.wait_for_load_state("networkidle")
        watched.page.context.close()
    assert [url for watched in opened for url in watched.outside] == []
    assert [text for watched in opened for text in watched.errors] == []


def _watch(watched: Watched) -> None:
    page = watched.page

    def asked(request) -> None:
        if not request.url.startswith(("http://127.0.0.1:", "data:", "blob:")):
            watched.outside.append(request.url)

    def answered(response) -> None:
        if response.status >= 400:
            watched.errors.append(f"{response.status} {response.url}")

    page.on("request", asked)
    page.on("response", answered)
    page.on("console", lambda message: watched.errors.append(message.text) if message.type == "error" else None)
    page.on("pageerror", lambda error: watched.errors.append(str(error)))
