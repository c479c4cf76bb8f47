"""Pages as they are built: what stands on them, and what must never stand there."""

import json
from dataclasses import replace

import pytest

from dashboard.answers import answer_drive, answer_shift
from dashboard.app import make_app, page
from dashboard.figures.phases import draw_shift
from dashboard.figures.traces import draw_traces
from dashboard.library import Library
from dashboard.parts.drive_list import drive_place
from dashboard.parts.drive_parts import rest_sections, shift_section
from dashboard.parts.worth import worth_sections
from dashboard.routes import COMPARE, DRIVES, MPH, Place, Query
from dashboard.signals import Window
from dashboard.theme import LIGHT
from dashboard.views.compare import distribution_rows
from dashboard.views.shift import shift_window
from shiftlog.model.comparison import Comparison
from shiftlog.model.drive import ClockMatch, Mounting
from shiftlog.model.recording import Quality
from shiftlog.model.result import RecordingReport, Unable
from shiftlog.model.shift import Shift

HERE = Place(page="drive", car="Test coupe", visit="after", drive="warm-2")


def text_of(component) -> str:
    """Everything a page says, as the browser would get it."""
    return json.dumps(
        component.to_plotly_json() if hasattr(component, "to_plotly_json") else component,
        default=_plain,
        ensure_ascii=False,
    )


def _plain(thing):
    return thing.to_plotly_json() if hasattr(thing, "to_plotly_json") else str(thing)


class OneCar(Library):
    """A door that knows the car of its drive, whatever the drive."""

    def __init__(self, car) -> None:
        self._car = car

    def drive_car(self, drive_id: str):
        return self._car


def test_the_table_of_shifts_holds_found_and_rejected_in_order_of_time(make_result, make_shift):
    shifts = (make_shift(number=1), make_shift(number=2, start_s=90.0, end_s=90.4, out_s=None, in_s=None, baulk=()))
    said = text_of(shift_section(make_result(shifts=shifts), HERE, Query()))
    assert said.index("0:41.4") < said.index("1:28.1") < said.index("1:30.0")
    assert "left out" in said and "the lever fell back by itself" in said
    assert "no accelerometer at the gearbox" in said
    assert "/car/Test%20coupe/after/warm-2/2" in said


def test_drive_gaps_have_a_table_without_lever_times(make_result, gap_shift):
    said = text_of(shift_section(make_result(shifts=(gap_shift,)), HERE, Query()))
    assert "Drive gap, s" in said and "A drive gap is not a lever time." in said
    assert "Shift time" not in said and "Neutral time" not in said and "Baulk" not in said


def test_the_over_rev_table_stands_with_its_caution_and_the_redline(make_result, wrong_rest, car):
    parts = rest_sections(OneCar(car), "warm-2", make_result(rests=(wrong_rest,)), Query())
    said = text_of(parts[-1])
    assert "Over-revving destroys engines" in said and "7400" in said
    assert said.index("9820") < said.index("5980")
    assert "9820\N{NO-BREAK SPACE}rpm, above the redline" in said and "5980\N{NO-BREAK SPACE}rpm, above" not in said


def test_without_a_redline_no_row_is_marked(make_result, wrong_rest):
    said = text_of(rest_sections(OneCar(None), "warm-2", make_result(rests=(wrong_rest,)), Query())[-1])
    assert "names no redline" in said and "above the redline" not in said


def test_a_lever_at_rest_at_standstill_is_no_over_rev(make_result, make_rest, car):
    standing = make_rest(plane="1-2", over_rev_if={"1": 0.0})
    assert len(rest_sections(OneCar(car), "warm-2", make_result(rests=(standing,)), Query())) == 1


def test_what_cannot_be_shown_is_said_once_and_only_if_no_recording_can(make_result):
    quality = Quality(rate_hz=1600.0, jitter_s=0.0, samples=1, duration_s=1.0)
    clock = ClockMatch(offset_s=0.0, drift_ppm=0.0, how="same clock", confidence=1.0)
    gearbox = RecordingReport(
        name="gearbox",
        place="gearbox",
        quality=quality,
        clock=clock,
        mounting=Mounting(rotation=None, how="unknown"),
        can_measure=("knock",),
        cannot_measure=(Unable(name="drive gap", kind="elsewhere", why="the recorder sits at the gearbox"),),
    )
    result = make_result()
    said = text_of(worth_sections(make_result(recordings=(*result.recordings, gearbox)))[0])
    assert "no accelerometer on the body" in said and "Fit a phone or accelerometer fixed to the body" in said
    assert "no accelerometer in this log" not in said and "the recorder sits" not in said
    assert said.count("Knock") == 1


def test_a_gate_that_was_not_found_keeps_the_lever_s_figures_away(make_result):
    report = replace(make_result().recordings[0], can_measure=("neutral rest",))
    lost = make_result(gate=None, gate_why="the lever was driven through two gears only", recordings=(report,))
    assert "the lever was driven through two gears only" in text_of(worth_sections(lost)[0])


def felt(**different) -> Shift:
    plain = {"number": 3, "from_gear": None, "to_gear": None, "start_s": 20.0, "end_s": None, "outcome": None}
    return Shift(**(plain | {"seen_by": "acceleration", "gap": (20.0, 20.6), "confidence": 0.83} | different))


def test_a_shift_whose_gears_nobody_knows_is_said_to_be_so_with_how_sure_it_is(make_result):
    result = make_result(shifts=(felt(), felt(number=4, start_s=30.0, gap=None)), gate=None)
    said = text_of(shift_section(result, HERE, Query()))
    assert "gear unknown" in said and "Sure" in said and "83\N{NO-BREAK SPACE}%" in said and "None" not in said
    answer = " ".join(answer_drive(result))
    assert (
        "2 shifts from acceleration, none of them at 90 % or surer" in answer and "their gears are not known" in answer
    )
    assert answer_shift(felt(), "km/h")[0].startswith("A change of gear that cannot be named, seen in the drive")
    assert "is 83\N{NO-BREAK SPACE}% sure" in " ".join(answer_shift(felt(), "km/h"))


def test_pictures_are_drawn_of_shifts_whose_gears_nobody_knows():
    window = Window(start_s=0.0, end_s=60.0, whole_s=(0.0, 60.0), lines=())
    marks = draw_traces(window, LIGHT, shifts=(felt(),), rejected=(), speed_unit="km/h").data[0]
    assert "gear unknown" in marks.hovertext[0]
    for shift in (felt(), felt(gap=None)):
        draw_shift(window, shift, LIGHT, speed_unit="km/h")
        start_s, end_s = shift_window(shift)
        assert start_s < shift.start_s < end_s


def test_notes_and_recordings_left_out_are_listed(make_result):
    said = text_of(worth_sections(make_result()))
    assert "gear 2: the ratio is off" in said and "phone was left out: phone.csv, row 3" in said


def test_distributions_stand_beside_their_verdict_and_what_was_left_out(make_row):
    rows = (
        make_row(),
        make_row(group="3-4", verdict="unclear"),
        make_row(group="4-5", verdict="too_few"),
        make_row(measure="baulk_time_s"),
    )
    strips = distribution_rows(
        Comparison(before=("a",), after=("b",), caveats=(), rows=rows), "shift_time_s", speed_unit="km/h", scheme=None
    )
    assert len(strips) == 3 and "1 kind with too few shifts to tell" in text_of(strips[2])
    said = text_of(strips[0])
    assert "Better, provisionally." in said
    assert "Left out: 3 before, 1 after (paused in neutral)." in said
    assert "5 shifts from 1 drive before, 4 shifts from 1 drive after." in said


def test_an_empty_workshop_says_what_to_do_next(empty_library):
    said = text_of(page(DRIVES, Query(), empty_library))
    assert "shiftlog add" in said and "shiftlog demo" in said and "Add a drive folder" in said
    assert "nobody operates the logger while driving" in said


@pytest.mark.parametrize("place", [Place(page="lost"), Place(page="drive", car="a", visit="b", drive="c")])
def test_a_wrong_address_leads_back(empty_library, place):
    said = text_of(page(place, Query(), empty_library))
    assert "There is no such" in said and "All drives" in said


def test_nothing_chosen_to_compare_says_so(empty_library):
    assert "Choose drives" in text_of(page(COMPARE, Query(), empty_library))


def test_every_page_of_measured_drives_is_built(measured_workshop):
    library, drive_ids = measured_workshop
    entry = library.entry(drive_ids["before"])
    here = drive_place(entry)
    assert "How did the car shift?" in text_of(page(here, Query(), library))
    number = library.result(entry.id).shifts[0].number
    shift = Place(page="shift", car=here.car, visit=here.visit, drive=here.drive, shift=number)
    assert "What happened in this shift?" in text_of(page(shift, Query(speed=MPH), library))
    sides = Query(before=(drive_ids["before"],), after=(drive_ids["after"],))
    assert "provisional" in text_of(page(COMPARE, sides, library))
    assert "There is no such shift" in text_of(
        page(Place(page="shift", car=here.car, visit=here.visit, drive=here.drive, shift=9999), Query(), library)
    )
    profile = text_of(page(Place(page="profile", car=here.car), Query(), library))
    assert "What is the car like?" in profile and "Learnt, rpm per km/h" in profile
    for place in (DRIVES, Place(page="car", car=here.car), Place(page="visit", car=here.car, visit=here.visit)):
        assert entry.name in text_of(page(place, Query(), library))


def test_two_apps_in_one_process_keep_their_own_callbacks(empty_library):
    first, second = make_app(empty_library), make_app(empty_library)
    assert first.callback_map.keys() == second.callback_map.keys() and len(first.callback_map) > 10


def test_the_frame_names_nothing_outside_this_machine(empty_library):
    client = make_app(empty_library).server.test_client()
    html = client.get("/").get_data(as_text=True)
    assert "http://" not in html.replace("http://www.w3.org/2000/svg", "") and "https://" not in html
    assert "prefers-color-scheme: dark" in html and 'name="viewport"' in html
