"""The command line: one table of commands; each reads its arguments, calls the library and prints."""

import argparse
import importlib
import os
import sys
import traceback

from shiftlog import __version__
from shiftlog.errors import ShiftlogError

COMMANDS = {
    "add": ("build a drive folder from bare logs", "shiftlog.commands.add", "shiftlog.commands.add:run"),
    "car": ("make or check a car's profile", "shiftlog.commands.car", "shiftlog.commands.car:run"),
    "check": ("say what the logs of a drive are worth", "shiftlog.commands.check", "shiftlog.commands.check:run"),
    "measure": (
        "find and measure every shift and rest of a drive", "shiftlog.commands.measure", "shiftlog.commands.measure:run"
    ),
    "compare": (
        "compare drives before with drives after", "shiftlog.commands.compare", "shiftlog.commands.compare:run"
    ),
    "measures": (
        "list every figure, its unit and what it means", "shiftlog.commands.measures", "shiftlog.commands.measures:run"
    ),
    "serve": ("open the dashboard on a workshop folder", "shiftlog.commands.serving", "dashboard.__main__:serve"),
    "demo": (
        "make the demo drives and open the dashboard on them", "shiftlog.commands.serving", "dashboard.__main__:demo"
    ),
}  # fmt: skip
"""Name → what it does, the module whose ``add_arguments(parser)`` it takes, and the function that runs it."""

USABLE, OUR_FAULT, UNUSABLE = 0, 1, 2
"""Exit codes: something was usable; a fault of shiftlog itself; nothing was usable, or the profile is wrong."""

CAUTION = (
    "Nobody operates the logger while driving, and road tests keep to traffic law. Over-revving destroys engines. "
    "A figure is no certificate of roadworthiness."
)


def main(arguments: list[str] | None = None) -> int:
    """Run one command and return its exit code."""
    arguments = sys.argv[1:] if arguments is None else arguments
    try:
        code = _run(arguments)
        sys.stdout.flush()
        return code
    except BrokenPipeError:
        # The reader of our output has gone, as `| head` does; that is no fault.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return USABLE
    except ShiftlogError as error:
        print(f"shiftlog: {one_line(error)}", file=sys.stderr)
        return UNUSABLE
    except KeyboardInterrupt:
        return 130
    except Exception as error:
        print(f"shiftlog: a fault of shiftlog itself ({type(error).__name__}: {one_line(error)})", file=sys.stderr)
        if os.environ.get("SHIFTLOG_TRACEBACK"):
            traceback.print_exc()
        else:
            print("shiftlog: set SHIFTLOG_TRACEBACK=1 to see where, and report it", file=sys.stderr)
        return OUR_FAULT


def one_line(error: Exception) -> str:
    """The error's text on one line."""
    return " ".join(str(error).split())


def _run(arguments: list[str]) -> int:
    first = next((a for a in arguments if not a.startswith("-")), None)
    parser = _parser(first)
    args = parser.parse_args(arguments)
    if args.command is None:
        parser.print_help()
        return UNUSABLE
    module, function = COMMANDS[args.command][2].split(":")
    return getattr(importlib.import_module(module), function)(args)


def _parser(chosen: str | None) -> argparse.ArgumentParser:
    """All commands by name; only the chosen one's module is loaded, so that help is quick."""
    parser = argparse.ArgumentParser(
        prog="shiftlog", description="Measures manual gear shifts from road-test logs.", epilog=CAUTION
    )
    parser.add_argument("--version", action="version", version=f"shiftlog {__version__}")
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", dest="command")
    for name, (text, module, _) in COMMANDS.items():
        sub = commands.add_parser(name, help=text, description=f"{text[:1].upper()}{text[1:]}.")
        if name == chosen:
            importlib.import_module(module).add_arguments(sub)
    return parser


if __name__ == "__main__":
    sys.exit(main())
