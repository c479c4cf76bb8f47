"""Work behind the page, and what is kept of it."""

import threading
import time

from dashboard.kept import Kept
from dashboard.work import Work
from shiftlog.errors import LogError


def wait_for(condition) -> None:
    until = time.monotonic() + 5
    while not condition():
        assert time.monotonic() < until, "waited 5 s in vain"
        time.sleep(0.01)


def test_progress_is_said_and_then_gone():
    work, go = Work(), threading.Event()

    def job(progress):
        progress("half way")
        go.wait(5)

    work.begin("a", job)
    wait_for(lambda: work.said() == {"a": "half way"})
    go.set()
    wait_for(lambda: work.said() == {})
    assert work.failed("a") is None


def test_a_failure_stands_with_its_line_until_the_next_try():
    work = Work()

    def broken(_):
        raise LogError("lever.csv, row 3: a number is needed")

    work.begin("a", broken)
    wait_for(lambda: work.failed("a") is not None)
    assert work.failed("a") == "lever.csv, row 3: a number is needed"
    work.begin("a", lambda _: None)
    wait_for(lambda: work.said() == {})
    assert work.failed("a") is None


def test_a_fault_of_ours_shows_too():
    work = Work()
    work.begin("a", lambda _: 1 / 0)
    wait_for(lambda: work.failed("a") is not None)
    assert "ZeroDivisionError" in work.failed("a") and "report" in work.failed("a")


def test_the_same_work_is_queued_once():
    work, go, runs = Work(), threading.Event(), []

    def job(_):
        runs.append(1)
        go.wait(5)

    for _ in range(3):
        work.begin("a", job)
    go.set()
    wait_for(lambda: work.said() == {})
    assert len(runs) == 1


def test_the_last_few_are_kept_and_made_once():
    kept, made = Kept(2), []

    def make(name):
        made.append(name)
        return name.upper()

    for name in ("a", "b", "a", "c", "a", "b"):
        assert kept.get(name, lambda name=name: make(name)) == name.upper()
    assert made == ["a", "b", "c", "b"]
    kept.drop(lambda key: key == "b")
    kept.get("b", lambda: make("b"))
    assert made[-1] == "b"


def test_what_changes_while_it_is_worked_on_is_worked_on_once_more():
    work, go, ran = Work(), threading.Event(), []

    def job(_):
        ran.append(len(ran))
        go.wait(5)

    work.begin("a", job)
    wait_for(lambda: ran == [0])
    work.begin_anew("a", job)
    work.begin_anew("a", job)
    go.set()
    wait_for(lambda: ran == [0, 1] and work.said() == {})
    work.begin_anew("a", job)
    wait_for(lambda: ran == [0, 1, 2] and work.said() == {})
