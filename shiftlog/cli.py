"""The command line: one table of commands; each reads its arguments, calls the library and prints."""

import argparse
import importlib
import io
import os
import sys
import traceback
from typing import NoReturn

from shiftlog import __version__
from shiftlog.commands.exit_codes import INTERRUPTED, OUR_FAULT, UNUSABLE, USABLE, one_line
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
    "cables": (
        "say how much room each gear has, and what setting the cables would give", "shiftlog.commands.cables",
        "shiftlog.commands.cables:run",
    ),
    "neutral": (
        "say where the lever rests, and what a push straight in from there would mean", "shiftlog.commands.neutral",
        "shiftlog.commands.neutral:run",
    ),
    "test": (
        "say what a guided test says: let-goes, straight pushes, lock-out, free play and more",
        "shiftlog.commands.guided_test", "shiftlog.commands.guided_test:run",
    ),
    "job": (
        "keep the record of a car's visit: complaint, findings, work, checks", "shiftlog.commands.job",
        "shiftlog.commands.job:run",
    ),
    "card": (
        "say what has to be driven for a job, and what is still missing", "shiftlog.commands.card",
        "shiftlog.commands.card:run",
    ),
    "report": (
        "write the client's page of a job, or of drives before and after", "shiftlog.commands.report",
        "shiftlog.commands.report:run",
    ),
    "verify": (
        "measure the logs of a page anew, and say whether its figures are the same", "shiftlog.commands.verify",
        "shiftlog.commands.verify:run",
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

CAUTION = (
    "Nobody operates the logger while driving, and road tests keep to traffic law. Over-revving destroys engines. "
    "A figure is no certificate of roadworthiness."
)


class OneLineParser(argparse.ArgumentParser):
    """Says what is wrong with the usage in one line."""

    def error(self, message: str) -> NoReturn:
        """Exit with code 2."""
        self.exit(UNUSABLE, f"{self.prog}: {message}; see {self.prog} --help\n")


def main(arguments: list[str] | None = None) -> int:
    """Run one command and return its exit code."""
    arguments = sys.argv[1:] if arguments is None else arguments
    _accept_any_letter()
    try:
        try:
            return _run(arguments)
        finally:
            # Here, not when Python ends: only here a reader that has gone can be met without a complaint.
            sys.stdout.flush()
    except BrokenPipeError:
        # The reader of our output has gone, as `| head` does; that is no fault.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return USABLE
    except ShiftlogError as error:
        print(f"shiftlog: {one_line(error)}", file=sys.stderr)
        return UNUSABLE
    except KeyboardInterrupt:
        return INTERRUPTED
    except Exception as error:
        return _own_fault(error)


def _own_fault(error: Exception) -> int:
    """One short line; where it happened only for who asks for it."""
    ask = os.environ.get("SHIFTLOG_TRACEBACK")
    hint = "" if ask else "; please report it with what SHIFTLOG_TRACEBACK=1 shows"
    print(f"shiftlog: a fault of shiftlog itself ({type(error).__name__}: {one_line(error)}){hint}", file=sys.stderr)
    if ask:
        traceback.print_exception(error)
    return OUR_FAULT


def _accept_any_letter() -> None:
    """A terminal or file whose encoding lacks a letter shows a question mark for it instead of ending the work."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")


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
    parser = OneLineParser(
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
