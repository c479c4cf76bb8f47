"""A page printed to PDF by a browser that is on the machine."""

import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from shiftlog.errors import StoreError

_NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome", "msedge", "microsoft-edge",
          "brave-browser", "vivaldi")  # fmt: skip
_MAC = ("Google Chrome", "Chromium", "Microsoft Edge", "Brave Browser", "Vivaldi")
_WINDOWS = (r"Google\Chrome\Application\chrome.exe", r"Microsoft\Edge\Application\msedge.exe",
            r"Chromium\Application\chrome.exe")  # fmt: skip
TIMEOUT_S = 60.0
NO_BROWSER = "no browser of the Chromium family is on this machine; open the page in any browser and print it to a PDF"


def find_browser() -> str | None:
    """A browser of the Chromium family, or None."""
    found = (shutil.which(name) for name in _NAMES)
    return next((path for path in (*found, *_by_place()) if path), None)


def _by_place() -> Iterator[str]:
    if sys.platform == "darwin":
        for name in _MAC:
            path = Path("/Applications") / f"{name}.app" / "Contents" / "MacOS" / name
            if path.is_file():
                yield str(path)
    for variable in ("PROGRAMFILES", "PROGRAMFILES(X86)", "LOCALAPPDATA"):
        base = os.environ.get(variable)
        for name in _WINDOWS if base else ():
            path = Path(base) / name
            if path.is_file():
                yield str(path)


def print_page(page: str) -> bytes:
    """The page as a PDF. StoreError where there is no browser for it, or it does not print."""
    browser = find_browser()
    if browser is None:
        raise StoreError(NO_BROWSER)
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder:
        source, target = Path(folder) / "page.html", Path(folder) / "page.pdf"
        source.write_text(page, encoding="utf-8")
        _run([browser, *_options(folder), f"--print-to-pdf={target}", source.as_uri()])
        if not target.is_file() or not target.read_bytes().startswith(b"%PDF"):
            raise StoreError(f"{browser}: did not print the page; open it in a browser and print it to a PDF")
        return target.read_bytes()


def _options(folder: str) -> list[str]:
    options = [
        "--headless", "--no-pdf-header-footer", "--disable-gpu", "--no-first-run", "--disable-extensions",
        "--disable-background-networking", "--disable-sync", f"--user-data-dir={Path(folder) / 'profile'}",
    ]  # fmt: skip
    # The browser's own sandbox refuses to run for the superuser.
    is_root = hasattr(os, "geteuid") and os.geteuid() == 0
    return [*options, "--no-sandbox"] if is_root else options


def _run(command: list[str]) -> None:
    try:
        subprocess.run(command, capture_output=True, timeout=TIMEOUT_S, check=False)
    except subprocess.TimeoutExpired as error:
        raise StoreError(f"{command[0]}: did not print within {TIMEOUT_S:.0f} s; print the page by hand") from error
    except OSError as error:
        raise StoreError(f"{command[0]}: cannot be run ({error.strerror or error}); print the page by hand") from error
