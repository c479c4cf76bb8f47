"""`shiftlog serve` and `shiftlog demo`: their arguments; the dashboard itself runs them."""

import argparse
from pathlib import Path

from shiftlog.commands.option_types import port


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of both commands."""
    parser.add_argument(
        "--workshop", type=Path, metavar="DIR", help="the workshop folder (serve: ./workshop, demo: a cache folder)"
    )
    parser.add_argument("--host", help="address to serve on (default: this machine only)")
    parser.add_argument("--port", type=port, help="port to serve on (default: the first that is free)")
    parser.add_argument("--no-browser", action="store_true", help="do not open a browser")
