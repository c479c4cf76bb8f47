"""Bare logs to a drive of the workshop, without a browser: what is understood, what is asked, what is added."""

import json
import time
from dataclasses import replace

import pytest

from dashboard.app import page
from dashboard.incoming import Answers, FileAnswers
from dashboard.planning import LEFT_OUT, UNCLEAR, UNDERSTOOD, page_words
from dashboard.routes import Place, Query, read_path, write_path
from shiftlog.errors import StoreError

SPEED = "time [s],speed\n" + "".join(f"{k * 0.1:.1f},{k % 50}\n" for k in range(600))


def said(component) -> str:
    return json.dumps(component, default=lambda c: c.to_plotly_json(), ensure_ascii=False)


def refer(library, folder):
    return library.imports.incoming.refer(str(folder))


def keep(library, token, **said_of_it):
    incoming = library.imports.incoming
    incoming.keep(token, replace(incoming.answers(token), **said_of_it))


def test_logs_are_understood_and_judged_before_anything_is_added(waiting):
    library, folder = waiting
    reading = library.imports.read(refer(library, folder))
    assert {f.name: f.state for f in reading.files} == {"lever.csv": UNDERSTOOD, "bus.csv": UNDERSTOOD}
    assert reading.ready and len(reading.reports) == 2
    assert "shift, neutral and baulk times" in [able.name for able in reading.can]
    lever = next(f for f in reading.files if f.name == "lever.csv")
    assert lever.lever and lever.headers and any("select from" in line for line in lever.lines)
    assert not any("--" in line for f in reading.files for line in f.lines)
    assert library.drives() == ()


def test_an_accelerometer_whose_unit_is_named_wrongly_is_a_question_that_the_page_can_answer(waiting):
    library, folder = waiting
    rows = [f"{k / 50:.2f},{0.01 * (k % 3):.2f},{0.01 * (k % 5):.2f},{0.98 + 0.01 * (k % 7):.2f}" for k in range(1000)]
    head = "time [s],accel_x [m/s^2],accel_y [m/s^2],accel_z [m/s^2]"
    (folder / "box.csv").write_text("\n".join([head, *rows]))
    token = refer(library, folder)
    box = next(f for f in library.imports.read(token).files if f.name == "box.csv")
    assert box.state == UNCLEAR and "as g its numbers fit" in box.why and "--" not in box.why
    columns = {f"accel_{axis} [m/s^2]": ("", "g") for axis in "xyz"}
    keep(library, token, files={"box.csv": FileAnswers(columns=columns)})
    assert {f.name: f.state for f in library.imports.read(token).files}["box.csv"] == UNDERSTOOD


def test_added_logs_are_a_drive_with_the_name_stage_and_car_that_were_given(waiting):
    library, folder = waiting
    token = refer(library, folder)
    keep(library, token, name="run 7", stage="after", driver="B")
    drive_id = library.add_incoming(token)
    entry = library.entry(drive_id)
    assert (entry.name, entry.stage, entry.driver) == ("run 7", "after", "B")
    assert entry.car == library.cars()[0] and (entry.folder / "lever.csv").is_file()
    assert (folder / "lever.csv").is_file() and library.imports.incoming.pending() == ()


def test_a_car_of_the_workshop_can_be_chosen(waiting, car):
    library, folder = waiting
    library.save_car(car)
    (folder / "car.toml").unlink()
    token = refer(library, folder)
    assert library.imports.read(token).car == "car not named"
    keep(library, token, car=car.name)
    assert library.imports.read(token).car == car.name
    assert library.entry(library.add_incoming(token)).car == car.name


def test_the_same_logs_again_are_told_and_stay(waiting):
    library, folder = waiting
    first = library.entry(library.add_incoming(refer(library, folder)))
    token = refer(library, folder)
    with pytest.raises(StoreError, match=f"already, as drive {first.name}"):
        library.add_incoming(token)
    assert library.imports.incoming.pending() == (token,)


def test_an_unclear_log_asks_and_its_answer_settles_it(waiting):
    library, folder = waiting
    (folder / "speed.csv").write_text(SPEED)
    token = refer(library, folder)
    reading = library.imports.read(token)
    asked = next(f for f in reading.files if f.name == "speed.csv")
    assert (asked.state, asked.headers) == (UNCLEAR, ("time [s]", "speed")) and not reading.ready
    assert asked.why == "speed.csv, column speed: names no unit; it may be in km/h or m/s or mph."
    # The others are understood all the same.
    assert len(reading.reports) == 2
    with pytest.raises(StoreError, match="not clear yet"):
        library.add_incoming(token)
    keep(library, token, files={"speed.csv": FileAnswers(columns={"speed": ("", "km/h")}, place="engine")})
    settled = library.imports.read(token)
    assert settled.ready and [r.place for r in settled.reports if r.name == "speed"] == ["engine"]
    keep(library, token, files={"speed.csv": FileAnswers(columns={"speed": ("vehicle_speed", "m/s")})})
    assert "vehicle_speed from speed (m/s)" in str(library.imports.read(token).files)
    keep(library, token, files={"speed.csv": FileAnswers(columns={"speed": ("leave out", "")})})
    gone = next(f for f in library.imports.read(token).files if f.name == "speed.csv")
    assert gone.state == LEFT_OUT


def test_a_wrong_file_gives_its_line_and_the_rest_goes_on(waiting):
    library, folder = waiting
    (folder / "notes.csv").write_text("hello\nthis is no log\n")
    reading = library.imports.read(refer(library, folder))
    wrong = next(f for f in reading.files if f.name == "notes.csv")
    assert wrong.state == LEFT_OUT and wrong.why.startswith("notes.csv: no columns found")
    assert reading.ready and len(reading.reports) == 2


def test_nothing_but_wrong_files_is_no_drive(empty_library, tmp_path):
    for name in ("a.csv", "b.csv"):
        (tmp_path / name).write_text("hello\nno log\n")
    token = empty_library.imports.incoming.refer(f"{tmp_path / 'a.csv'}\n{tmp_path / 'b.csv'}")
    reading = empty_library.imports.read(token)
    assert [f.state for f in reading.files] == [LEFT_OUT, LEFT_OUT] and not reading.ready
    with pytest.raises(StoreError):
        empty_library.add_incoming(token)


def test_a_wrong_profile_is_one_line(waiting):
    library, folder = waiting
    (folder / "car.toml").write_text("[car\n")
    reading = library.imports.read(refer(library, folder))
    assert reading.fault.startswith("car.toml") and "\n" not in reading.fault and not reading.ready


def test_a_bus_trace_asks_for_its_description_and_takes_it_from_the_files(empty_library, tmp_path):
    pytest.importorskip("can", reason="python-can, of the extra [can], is not installed")
    frames = [f"({1 + 0.02 * k:.6f}) can0 100#{1000 + k:04X}000000000000\n" for k in range(400)]
    (tmp_path / "trace.log").write_text("".join(frames))
    token = empty_library.imports.incoming.refer(str(tmp_path / "trace.log"))
    asked = empty_library.imports.read(token).files[0]
    assert asked.state == LEFT_OUT and asked.why.endswith("a DBC, or a TOML with [[signal]] entries.")
    (tmp_path / "signals.toml").write_text(
        '[[signal]]\nname = "engine_speed"\nid = 0x100\nstart = 7\nlength = 16\norder = "big"\nunit = "rpm"\n'
    )
    token = empty_library.imports.incoming.refer(f"{tmp_path / 'trace.log'}\n{tmp_path / 'signals.toml'}")
    reading = empty_library.imports.read(token)
    assert reading.ready and "engine_speed" in reading.files[0].lines[0]
    assert empty_library.entry(empty_library.add_incoming(token)).measured is False


def test_a_drive_folder_is_taken_as_it_is(empty_library, drive_folders):
    token = empty_library.imports.incoming.refer(str(drive_folders["after"]))
    reading = empty_library.imports.read(token)
    assert reading.plan is None and reading.ready and reading.given == drive_folders["after"]
    assert empty_library.entry(empty_library.add_incoming(token)).stage == "after"
    assert (drive_folders["after"] / "lever.csv").is_file()


def test_lines_lose_what_only_the_command_line_knows():
    line = 'a.csv, column v: may be accel_x or gyro_x. Say --column "v=accel_x" or --column "v=gyro_x".'
    assert page_words(line) == "a.csv, column v: may be accel_x or gyro_x."
    assert page_words("taken to be at the body; --place a.csv=PLACE says otherwise.") == "taken to be at the body."


def test_the_page_says_what_it_holds_and_what_to_do(waiting):
    library, folder = waiting
    start = said(page(Place(page="import"), Query(), library))
    assert "Choose files" in start and "What did you record?" in start
    token = refer(library, folder)
    assert "bus.csv, car.toml and lever.csv" in said(page(Place(page="import"), Query(), library))
    (folder / "speed.csv").write_text(SPEED)
    library.imports.incoming.keep(token, Answers(paths=tuple(str(f) for f in sorted(folder.iterdir()))))
    library.imports.begin(token)
    while library.work.said():
        time.sleep(0.02)
    shown = said(page(Place(page="import", token=token), Query(), library))
    assert "1 log can be read in more than one way" in shown and "a question is open" in shown
    assert "What this drive can measure" in shown and "Where the recorder sat" in shown
    gone = said(page(Place(page="import", token="0" * 16), Query(), library))
    assert "Nothing waits here" in gone


@pytest.mark.parametrize("place", [Place(page="import"), Place(page="import", token="ab" * 8)])
def test_the_address_of_waiting_logs_leads_back_to_them(place):
    assert read_path(write_path(place)) == place


def test_without_a_profile_one_line_asks_for_one_and_nothing_is_promised_that_the_gate_takes(waiting):
    library, folder = waiting
    (folder / "car.toml").unlink()
    token = refer(library, folder)
    library.imports.begin(token)
    while token in library.work.said():
        time.sleep(0.02)
    reading = library.imports.reading(token)
    assert reading.without_car
    assert not any("shift, neutral and baulk times" in report.can_measure for report in reading.reports)
    shown = said(page(read_path(write_path(Place(page="import", token=token))), Query(), library))
    assert "Choose a car's profile or " in shown and "drive.toml" not in shown and "car.toml, or" not in shown


def test_an_open_question_stands_with_its_answer_and_says_why_nothing_can_be_added(waiting):
    library, folder = waiting
    (folder / "speed.csv").write_text(SPEED)
    token = refer(library, folder)
    library.imports.begin(token)
    while token in library.work.said():
        time.sleep(0.02)
    shown = said(page(read_path(write_path(Place(page="import", token=token))), Query(), library))
    assert "Not yet: a question above is open." in shown
    assert shown.index("names no unit") < shown.index("unit of speed") < shown.index("Say otherwise")


def restarted(folder):
    """A second run begins at zero in the same file, as by a logger that was switched off and on."""
    head, *rows = (folder / "bus.csv").read_text().splitlines()
    again = [f"{a.partition(',')[0]},{b.partition(',')[2]}" for a, b in zip(rows, rows[200:], strict=False)]
    (folder / "bus.csv").write_text("\n".join([head, *rows, *again]) + "\n")


def test_a_log_that_restarts_is_left_out_until_that_is_allowed(waiting):
    library, folder = waiting
    restarted(folder)
    token = refer(library, folder)
    bus = next(f for f in library.imports.read(token).files if f.name == "bus.csv")
    assert (bus.state, bus.restarted) == (LEFT_OUT, True)
    assert "the logger restarted" in bus.why and "say below that its clock may start anew" in bus.why
    keep(library, token, files={"bus.csv": FileAnswers(restart="yes")})
    reading = library.imports.read(token)
    bus = next(f for f in reading.files if f.name == "bus.csv")
    assert bus.state == UNDERSTOOD and bus.restarted and len(reading.reports) == 2
    entry = library.entry(library.add_incoming(token))
    text = (entry.folder / "drive.toml").read_text(encoding="utf-8")
    assert text.count("allow_restart = true") == 1
    # Measuring it later asks nothing again.
    library.measure(entry.id)
    assert [report.name for report in library.result(entry.id).recordings] == ["bus", "lever"]


def test_an_offset_and_axes_that_were_said_stand_in_the_drive(waiting):
    library, folder = waiting
    rows = "".join(
        f"{k * 0.01:.2f},{0.01 * (k % 3):.2f},{-9.81 + 0.01 * (k % 5):.2f},{0.01 * (k % 7):.2f}\n" for k in range(6000)
    )
    (folder / "phone.csv").write_text("time [s],accel_x [m/s^2],accel_y [m/s^2],accel_z [m/s^2]\n" + rows)
    token = refer(library, folder)
    before = next(r for r in library.imports.read(token).reports if r.name == "phone")
    assert before.clock.offset_s is None and next(f for f in library.imports.read(token).files if f.moves)
    keep(library, token, files={"phone.csv": FileAnswers(offset="12.5", mounting="-z,x,-y")})
    reading = library.imports.read(token)
    phone = next(r for r in reading.reports if r.name == "phone")
    assert (phone.clock.how, phone.mounting.how) == ("declared", "declared")
    # The lever's own clock has no declared offset, so that drive time's zero is where its log begins.
    assert phone.clock.offset_s == pytest.approx(12.5, abs=1e-6)
    text = (library.entry(library.add_incoming(token)).folder / "drive.toml").read_text(encoding="utf-8")
    assert "clock_offset_s = 12.5" in text and "mounting = [[" in text


@pytest.mark.parametrize(
    ("answer", "words"),
    [
        (FileAnswers(offset="soon"), "bus.csv: clock offset soon: is no number of seconds; write it as 3.25."),
        (FileAnswers(mounting="x,x,x"), "bus.csv: sensor axes x,x,x: write the sensor axes that point forward"),
        (FileAnswers(columns={"engine_speed": ("colour", "")}), "colour is no channel"),
    ],
)
def test_an_answer_that_cannot_be_read_is_asked_again(waiting, answer, words):
    library, folder = waiting
    token = refer(library, folder)
    keep(library, token, files={"bus.csv": answer})
    reading = library.imports.read(token)
    bus = next(f for f in reading.files if f.name == "bus.csv")
    assert bus.state == UNCLEAR and words in bus.why and "--" not in bus.why
    assert not reading.ready and len(reading.reports) == 1
