"""Marked spans in a drive's own file: what is kept, what is refused, what is pasted, and that nothing else changes."""

import threading
import tomllib
from dataclasses import replace
from datetime import UTC, datetime
from types import SimpleNamespace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shiftlog.errors import StoreError
from shiftlog.ingest.toml_text import toml_value
from shiftlog.model.drive import MarkedTest
from shiftlog.store.mark_book import MarkBook
from shiftlog.store.mark_paste import moved_by_hours, place_pasted, read_pasted, started_of
from shiftlog.store.mark_text import add_test, remove_test
from shiftlog.store.marks import add_marks, check_mark, read_marks, read_started, remove_mark
from shiftlog.store.workshop import Workshop

WHOLE_S = (0.0, 600.0)
PLAIN = """# the car of the hill
format = 1
[drive]
id = "warm-1"   # second run
started = 2026-10-03T14:05:00+01:00

[[recording]]
name = "lever"
file = "lever.csv"
place = "lever"
"""
TRICKY = '''format = 1
[drive]
notes = """
[[test]]
kind = "release"  # no table, but a text
"""
owner = \'\'\'
[drive]\'\'\'

[[test]]   # the first
kind = "release"
start_s = 12
end_s = 95.0
# he was in a hurry
["odd [[test]] table"]
x = "a \\" [[test]] # b"
[[recording]]
file = "lever.csv"
place = "lever"
mounting = [
  [1, 0, 0],  # ]
  [0, 1, 0],
  [0, 0, 1]]
[["test"]]
kind = "lockout"
start_s = 100.0
end_s = 130.0
configuration = "cables # off"
# the end
'''


def mark(kind="release", start_s=10.0, end_s=90.0, configuration=None, waits_s=()) -> MarkedTest:
    return MarkedTest(kind=kind, start_s=start_s, end_s=end_s, configuration=configuration, waits_s=waits_s)


@pytest.fixture
def folder(tmp_path):
    made = tmp_path / "warm-1"
    made.mkdir()
    (made / "drive.toml").write_text(PLAIN)
    (made / "lever.csv").write_text("time [s],select [count],engage [count]\n0,1,2\n0.01,2,3\n")
    return made


def told(mark: MarkedTest) -> tuple:
    return mark.kind, mark.start_s, mark.end_s, mark.configuration


def test_a_mark_is_added_at_the_end_and_all_else_stays(folder):
    add_marks(folder, [mark(configuration="cables off")], WHOLE_S)
    text = (folder / "drive.toml").read_text()
    assert text.startswith(PLAIN) and [told(m) for m in read_marks(folder)] == [("release", 10.0, 90.0, "cables off")]


def test_earlier_versions_stay_beside_it_with_a_number_and_logs_are_not_touched(folder):
    log = (folder / "lever.csv").read_bytes()
    add_marks(folder, [mark()], WHOLE_S)
    add_marks(folder, [mark(kind="lockout", start_s=100.0, end_s=150.0)], WHOLE_S)
    assert (folder / "drive.1.toml").read_text() == PLAIN
    assert "lockout" not in (folder / "drive.2.toml").read_text() and "release" in (folder / "drive.2.toml").read_text()
    assert (folder / "lever.csv").read_bytes() == log
    assert sorted(path.name for path in folder.iterdir()) == [
        "drive.1.toml", "drive.2.toml", "drive.toml", "lever.csv",
    ]  # fmt: skip


def test_added_and_removed_again_the_text_is_what_it_was(folder):
    add_marks(folder, [mark(), mark(kind="lockout", start_s=100.0, end_s=150.0)], WHOLE_S)
    remove_mark(folder, mark())
    assert [m.kind for m in read_marks(folder)] == ["lockout"]
    remove_mark(folder, mark(kind="lockout", start_s=100.0, end_s=150.0))
    assert (folder / "drive.toml").read_text() == PLAIN


def test_a_mark_that_is_gone_is_not_taken_for_another(folder):
    add_marks(folder, [mark()], WHOLE_S)
    with pytest.raises(StoreError, match="is not marked any more"):
        remove_mark(folder, mark(end_s=91.0))
    assert len(read_marks(folder)) == 1


def test_typed_waits_are_kept_with_their_mark_and_go_with_it(folder):
    waited = mark(kind="spin_down", waits_s=(10.0, 5.0, 2.5))
    add_marks(folder, [waited], WHOLE_S)
    assert read_marks(folder)[0].waits_s == (10.0, 5.0, 2.5)
    remove_mark(folder, waited)
    assert (folder / "drive.toml").read_text() == PLAIN
    pasted = read_pasted('[[test]]\nkind = "spin_down"\nstart_s = 0\nend_s = 60\nwaits_s = [10, 5]\n')
    assert pasted.marks[0].waits_s == (10.0, 5.0)


def test_a_typed_temperature_is_kept_with_its_mark_and_goes_with_it(folder):
    warm = replace(mark(kind="warm_up", configuration="hot"), gearbox_temp_c=82.5)
    add_marks(folder, [warm], WHOLE_S)
    assert read_marks(folder)[0].gearbox_temp_c == 82.5
    with pytest.raises(StoreError, match="not marked any more"):
        remove_mark(folder, replace(warm, gearbox_temp_c=14.0))
    remove_mark(folder, warm)
    assert (folder / "drive.toml").read_text() == PLAIN


def test_what_only_looks_like_a_table_is_left_alone():
    first = remove_test(TRICKY, 0)
    assert first == TRICKY.replace('[[test]]   # the first\nkind = "release"\nstart_s = 12\nend_s = 95.0\n', "", 1)
    second = remove_test(TRICKY, 1)
    assert "cables # off" not in second and second.endswith("[0, 0, 1]]\n# the end\n")
    assert tomllib.loads(second)["test"] == [{"kind": "release", "start_s": 12, "end_s": 95.0}]


def test_line_ends_and_a_byte_order_mark_stay_as_they_are(folder):
    given = b"\xef\xbb\xbf" + PLAIN.replace("\n", "\r\n").encode()
    (folder / "drive.toml").write_bytes(given)
    add_marks(folder, [mark()], WHOLE_S)
    written = (folder / "drive.toml").read_bytes()
    assert written.startswith(given) and b"\n" not in written.replace(b"\r\n", b"")
    remove_mark(folder, mark())
    assert (folder / "drive.toml").read_bytes() == given


def test_tests_in_one_line_are_refused_rather_than_doubled(folder):
    text = 'test = [{ kind = "release", start_s = 1.0, end_s = 2.0 }]\n' + PLAIN
    (folder / "drive.toml").write_text(text)
    for change in (lambda: add_marks(folder, [mark()], WHOLE_S), lambda: remove_mark(folder, mark(start_s=1, end_s=2))):
        with pytest.raises(StoreError, match="by hand"):
            change()
    assert (folder / "drive.toml").read_text() == text and not (folder / "drive.1.toml").exists()


words = st.text(st.characters(codec="utf-8", exclude_categories=["Cs"]), max_size=30)


@given(notes=words, configuration=words.filter(bool), key=words)
def test_whatever_the_text_says_marks_come_and_go_and_leave_it_alone(notes, configuration, key):
    text = f"[drive]\nnotes = {toml_value(notes)}\n[{toml_value(key + 'x')}]\na = 1\n[[recording]]\nfile = 'a'\n"
    more = add_test(text, mark(configuration=configuration))
    assert tomllib.loads(more)["test"][0]["configuration"] == configuration
    assert remove_test(more, 0) == text


@pytest.mark.parametrize(
    ("wrong", "line"),
    [
        (mark(start_s=90.0, end_s=10.0), "the end, 10 s, is not after the start, 90 s"),
        (mark(end_s=10.2), "0.20 s hold no test"),
        (mark(start_s=590.0, end_s=640.0), "lies outside the drive, which runs from 0.0 to 600.0 s"),
        (mark(kind="juggling"), 'kind "juggling" is not known; known: release'),
        (mark(start_s=50.0, end_s=120.0), "release is marked at 20 to 60 s already, and would count twice"),
        (mark(kind="detent", start_s=50.0, configuration="cables off"), 'cannot be "cables off" and "complete" at'),
        (mark(start_s=float("nan")), "is not after the start"),
        (replace(mark(), gearbox_temp_c=820.0), "a gearbox of 820 °C cannot be; write -60 to 250"),
        (mark(waits_s=(10.0, 5.0)), "waits belong to a spin_down test, not to release"),
        (mark(kind="spin_down", waits_s=(10.0, -5.0)), "a wait of -5 s cannot be"),
        (mark(kind="spin_down", waits_s=(float("nan"),)), "a wait of nan s cannot be"),
        (mark(kind="spin_down", waits_s=(50.0, 40.0)), "waits of 90 s together do not fit in 80 s"),
    ],
)  # fmt: skip
def test_a_bad_span_gets_one_clear_line(wrong, line):
    with pytest.raises(StoreError) as caught:
        check_mark(wrong, [mark(start_s=20.0, end_s=60.0, configuration="complete")], WHOLE_S)
    assert line in str(caught.value) and "\n" not in str(caught.value)


def test_spans_may_touch_and_other_kinds_may_share_the_time():
    others = [mark(start_s=20.0, end_s=60.0)]
    assert check_mark(mark(start_s=60.0, end_s=90.0), others, WHOLE_S).start_s == 60.0
    assert check_mark(mark(kind="straight_push", start_s=30.0, end_s=50.0), others, WHOLE_S).kind == "straight_push"


def test_a_span_a_little_over_the_end_is_cut_there():
    assert told(check_mark(mark(start_s=550.0, end_s=601.5), (), WHOLE_S)) == ("release", 550.0, 600.0, None)


def test_one_bad_span_of_several_leaves_the_file_alone(folder):
    with pytest.raises(StoreError):
        add_marks(folder, [mark(), mark(kind="lockout", end_s=0.0)], WHOLE_S)
    with pytest.raises(StoreError, match="no span"):
        add_marks(folder, [], WHOLE_S)
    assert (folder / "drive.toml").read_text() == PLAIN


PASTED = """# by the clock of the device
[marks]
began = 2026-10-03T13:05:20.500+00:00

[[test]]
kind = "straight_push"
start_s = 85.000
end_s = 245.010
configuration = "complete"
# 85.000 to 86.500 s, round 1: Right

[[test]]
kind = "release"
start_s = 0.000
end_s = 80.020
"""


def test_pasted_marks_are_laid_into_drive_time_by_the_clock_where_the_drive_has_one(folder):
    started = read_started(folder)
    assert started == datetime(2026, 10, 3, 13, 5, tzinfo=UTC)
    placed = place_pasted(read_pasted(PASTED), started=started, first_at_s=None)
    # 13:05:20.5 is 20.5 s after 14:05:00 an hour east of it.
    assert [told(m) for m in placed] == [
        ("release", 20.5, 100.52, None), ("straight_push", 105.5, 265.51, "complete"),
    ]  # fmt: skip


def test_several_runs_of_the_prompts_keep_their_distance():
    second = PASTED.replace("13:05:20.500", "13:15:20.250").replace('"complete"', '"cables off"')
    started = datetime(2026, 10, 3, 13, 5, tzinfo=UTC)
    placed = place_pasted(read_pasted(PASTED + "\n" + second), started=started, first_at_s=None)
    # The second run began 599.75 s after the first.
    assert [m.start_s for m in placed] == [20.5, 105.5, 620.25, 705.25]
    assert [m.configuration for m in placed] == [None, "complete", None, "cables off"]
    by_hand = place_pasted(read_pasted(PASTED + second), started=None, first_at_s=1.0)
    assert [m.start_s for m in by_hand] == [1.0, 86.0, 600.75, 685.75]
    with pytest.raises(StoreError, match="one without its `began`"):
        read_pasted(PASTED + second.replace("began", "# began"))


def test_where_the_first_began_goes_before_the_clock():
    placed = place_pasted(read_pasted(PASTED), started=datetime(2026, 1, 1, tzinfo=UTC), first_at_s=7.0)
    assert [m.start_s for m in placed] == [7.0, 92.0]


def dated(*offsets: float | None) -> SimpleNamespace:
    return SimpleNamespace(recordings=[SimpleNamespace(clock=SimpleNamespace(offset_s=offset)) for offset in offsets])


def test_a_log_that_counts_since_1970_tells_when_the_drive_started():
    started = datetime(2026, 10, 3, 13, 5, tzinfo=UTC)
    assert started_of(dated(12.5, None, started.timestamp())) == started
    assert started_of(dated(12.5, None, 47_100.0)) is None


@pytest.mark.parametrize("hours", [-9, 0, 2])
def test_dates_without_a_zone_are_moved_by_whole_hours_where_only_so_marks_lie_in_the_drive(hours):
    away = tuple(mark(start_s=a + 3600 * hours, end_s=a + 80 + 3600 * hours) for a in (20.0, 105.0))
    assert [m.start_s for m in moved_by_hours(away, WHOLE_S)] == [20.0, 105.0]
    assert moved_by_hours(away, (0.0, 30_000.0))[0].start_s == away[0].start_s, "several hours fit: nothing is guessed"
    between = (mark(start_s=1800.0, end_s=1850.0),)
    assert moved_by_hours(between, WHOLE_S) == between


@pytest.mark.parametrize(
    ("started", "pasted", "line"),
    [
        (None, PASTED, "the drive names no instant at which it started"),
        (datetime(2026, 10, 3, tzinfo=UTC), PASTED.replace("began", "# began"), "the marks name no `began`"),
    ],
)
def test_where_no_clock_tells_the_first_second_is_asked_for(started, pasted, line):
    with pytest.raises(StoreError, match="give the second of the drive") as caught:
        place_pasted(read_pasted(pasted), started=started, first_at_s=None)
    assert line in str(caught.value)


@pytest.mark.parametrize("started", ["2026-10-03", "2026-10-03T14:05:00", '"in the morning"'])
def test_a_start_without_its_time_and_zone_tells_nothing(folder, started):
    text = PLAIN.replace("2026-10-03T14:05:00+01:00", started)
    (folder / "drive.toml").write_text(text)
    assert read_started(folder) is None


@pytest.mark.parametrize(
    "pasted",
    ["", "not toml at all", "[marks]\nbegan = 1\n", "test = 3", "[[test]]\nkind = 'release'\nstart_s = 1\n",
     "[[test]]\nkind = 'release'\nstart_s = 1\nend_s = inf\n", "[[test]]\nkind = 1\nstart_s = 1\nend_s = 2\n",
     "test = [1]"],
)  # fmt: skip
def test_what_the_prompts_did_not_write_is_refused_in_one_line(pasted):
    with pytest.raises(StoreError, match="paste the marks of the prompts whole") as caught:
        read_pasted(pasted)
    assert "\n" not in str(caught.value)


@pytest.fixture
def book(tmp_path, folder):
    workshop, changed = Workshop.open(tmp_path / "workshop"), []
    drive_id = workshop.add_drive(folder)
    return MarkBook(workshop, whole_s=lambda _: WHOLE_S, changed=changed.append), drive_id, changed


def test_the_book_changes_the_workshop_s_copy_alone_and_tells_of_it(book, folder):
    marks, drive_id, changed = book
    marks.add(drive_id, [mark(kind="lockout", start_s=200.0, end_s=250.0)])
    marks.paste(drive_id, PASTED.replace("85.000", "300.000").replace("245.010", "400.000"))
    assert [m.kind for m in marks.of(drive_id)] == ["release", "lockout", "straight_push"]
    marks.remove(drive_id, mark(kind="lockout", start_s=200.0, end_s=250.0))
    assert changed == [drive_id] * 3 and (folder / "drive.toml").read_text() == PLAIN


def test_a_refused_mark_measures_nothing_anew(book):
    marks, drive_id, changed = book
    with pytest.raises(StoreError):
        marks.add(drive_id, [mark(end_s=5.0)])
    assert changed == []


def test_two_hands_at_once_lose_no_mark(book):
    marks, drive_id, _ = book
    jobs = [
        threading.Thread(target=marks.add, args=(drive_id, [mark(start_s=10.0 * n, end_s=10.0 * n + 9.0)]))
        for n in range(8)
    ]
    for job in jobs:
        job.start()
    for job in jobs:
        job.join()
    assert [m.start_s for m in marks.of(drive_id)] == [10.0 * n for n in range(8)]
