"""Progress: nothing for what is quick, a line for what lasts, and none of it in a file."""

import io
import time
from contextlib import redirect_stderr

import pytest

from shiftlog.commands import progress
from shiftlog.commands.progress import CLEAR, show_progress


class Terminal(io.StringIO):
    """Standard error as a terminal."""

    def isatty(self):
        return True


@pytest.fixture
def terminal(monkeypatch):
    made = Terminal()
    monkeypatch.setattr(progress, "QUIET_S", 0.05)
    return made


def test_quick_work_shows_nothing(terminal):
    with redirect_stderr(terminal), show_progress() as say:
        say("reading lever.csv")
    time.sleep(0.15)
    assert terminal.getvalue() == ""


def test_a_long_first_step_is_shown_although_it_was_said_at_once(terminal):
    with redirect_stderr(terminal), show_progress() as say:
        say("reading lever.csv")
        time.sleep(0.3)
        assert terminal.getvalue() == f"{CLEAR}reading lever.csv …"
        say("finding shifts")
    assert terminal.getvalue() == f"{CLEAR}reading lever.csv …{CLEAR}finding shifts …{CLEAR}"


def test_the_line_is_gone_before_an_error_is_said(terminal):
    with pytest.raises(ValueError), redirect_stderr(terminal), show_progress() as say:
        say("reading lever.csv")
        time.sleep(0.3)
        raise ValueError
    assert terminal.getvalue().endswith(CLEAR)


def test_what_is_no_terminal_sees_no_progress(monkeypatch):
    file = io.StringIO()
    monkeypatch.setattr(progress, "QUIET_S", 0.01)
    with redirect_stderr(file), show_progress() as say:
        say("reading lever.csv")
        time.sleep(0.1)
    assert file.getvalue() == ""
