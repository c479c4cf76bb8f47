"""Prompts in a browser whose clock the test turns: steps, rounds, waiting, stopping, and the marks of all of them."""

import re
import tomllib
from datetime import datetime, timedelta

import pytest
from playwright.sync_api import expect

from shiftlog.guided.cards.known import CARDS, SEQUENCES
from shiftlog.guided.engine_on_off import IDLING, OFF, says_engine
from shiftlog.store.mark_paste import read_pasted

pytestmark = pytest.mark.browser

STARTED = datetime.fromisoformat("2026-10-03T13:05:00+00:00")
LEAD_S = 5.0
TICK_S = 0.05
"""How closely the page looks at its clock, so how late a prompt may come."""
HEARD = """
window.heard = [];
window.SpeechSynthesisUtterance = function (text) { this.text = text; };
Object.defineProperty(window, "speechSynthesis", { value: {
  getVoices: () => VOICES, cancel: () => {}, addEventListener: () => {},
  speak: (words) => window.heard.push("says " + words.text),
} });
const start = OscillatorNode.prototype.start;
OscillatorNode.prototype.start = function (when) {
  window.heard.push("beeps " + this.frequency.value);
  return start.call(this, when);
};
"""


@pytest.fixture
def open_prompts(served_empty, open_page):
    """Opens the page of a test with its clock in the test's hand."""

    def open_at(kind: str, *, voices: str = "[{}]", **how):
        page = open_page(served_empty.url + "/guide", **how)
        page.add_init_script(HEARD.replace("VOICES", voices))
        page.clock.install(time=STARTED)
        page.goto(f"{served_empty.url}/guide/{kind}")
        page.wait_for_selector("#prompt-start")
        # From here on time goes only as the test turns it, however slow the machine.
        page.clock.pause_at(STARTED + timedelta(hours=1))
        return page

    return open_at


def turn(page, seconds: float) -> None:
    page.clock.run_for(round(seconds * 1000))


def said(page, name: str) -> str:
    return page.locator(f"#prompt-{name}").text_content()


def marks_of(page) -> tuple[dict, str]:
    text = page.locator("#prompt-marks").input_value()
    return tomllib.loads(text), text


def test_a_test_runs_by_itself_to_its_end_and_leaves_a_mark_of_every_step(open_prompts):
    page, card = open_prompts("lockout"), CARDS["lockout"]
    page.get_by_label("How it is set up").select_option("cables off")
    page.get_by_role("button", name="Start").click()
    assert said(page, "say") == card.title
    turn(page, LEAD_S + TICK_S)
    assert said(page, "say") == "Reach for reverse" and "round 1 of 10" in said(page, "where")
    assert said(page, "count") == "3" and said(page, "next-up") == "Then: Let go"
    turn(page, 3.0)
    assert said(page, "say") == "Let go"
    turn(page, 2.0)
    assert "round 2 of 10" in said(page, "where")
    turn(page, 45.0)
    expect(page.locator("#prompt-say")).to_have_text("Done.")
    marks, text = marks_of(page)
    assert [test["kind"] for test in marks["test"]] == ["lockout"] and marks["test"][0]["configuration"] == "cables off"
    # Fifty seconds by the card; each end is seen when the page next looks at its clock.
    assert marks["test"][0]["start_s"] == 0.0 and marks["test"][0]["end_s"] == pytest.approx(50.0, abs=2 * TICK_S)
    steps = [line for line in text.splitlines() if re.match(r"# \d", line)]
    assert len(steps) == card.repeats * len(card.steps) == 20
    ends = [float(line.split(" to ")[1].split(" ")[0]) for line in steps]
    assert ends[0] == pytest.approx(3.0, abs=2 * TICK_S) and ends[-1] == marks["test"][0]["end_s"]
    assert steps[0].endswith("round 1: Reach for reverse") and "2026-10-03T" in steps[0]


def test_the_marks_begin_when_the_device_s_clock_said_so(open_prompts):
    page = open_prompts("lockout")
    now = page.evaluate("Date.now()") / 1000
    page.get_by_role("button", name="Start").click()
    turn(page, 9.0)
    page.get_by_role("button", name="Stop").click()
    began = marks_of(page)[0]["marks"]["began"]
    assert began.timestamp() == pytest.approx(now + LEAD_S, abs=2 * TICK_S) and began.utcoffset() is not None


def test_stopping_keeps_what_was_done_and_says_so(open_prompts):
    page = open_prompts("release")
    page.get_by_role("button", name="Start").click()
    turn(page, LEAD_S + TICK_S + 2.0)
    page.keyboard.press("Escape")
    assert "Stopped" in said(page, "say")
    marks, text = marks_of(page)
    assert marks["test"][0]["end_s"] == pytest.approx(2.0, abs=3 * TICK_S) and "# stopped early" in text
    turn(page, 30.0)
    assert "Stopped" in said(page, "say"), "the clock of a stopped test must stand still"


def test_stopped_before_the_first_step_there_is_nothing_to_mark(open_prompts):
    page = open_prompts("release")
    page.get_by_role("button", name="Start").click()
    turn(page, 2.0)
    page.get_by_role("button", name="Stop").click()
    assert said(page, "say") == "Stopped before the first step."
    expect(page.locator("#prompt-done")).to_be_hidden()


def test_on_the_road_nothing_starts_without_a_passenger_and_steps_wait_for_a_tap(open_prompts):
    page = open_prompts("jump_out", width=390)
    page.get_by_role("button", name="Start").click()
    assert said(page, "say") == "Who holds this device?"
    page.get_by_role("button", name="A passenger holds this device").click()
    page.get_by_role("button", name="Start").click()
    turn(page, LEAD_S + TICK_S)
    assert said(page, "say") == "Next gear, low revs"
    turn(page, 60.0)
    assert said(page, "say") == "Next gear, low revs" and said(page, "count") == ""
    page.locator("#prompt-stage").tap()
    assert said(page, "say") == "Steady" and said(page, "count") == "2"
    turn(page, 2.0 + TICK_S)
    assert said(page, "say") == "Full throttle" and said(page, "count") == "5"
    page.locator("#prompt-stage").tap()
    assert said(page, "say") == "Full throttle", "a timed step must not be cut short by a tap"
    turn(page, 5.0 + TICK_S)
    assert said(page, "say") == "Foot off"


def test_a_waiting_step_goes_on_by_a_key(open_prompts):
    page = open_prompts("synchroniser")
    page.get_by_role("button", name="A passenger holds this device").click()
    page.get_by_role("button", name="Start").click()
    turn(page, LEAD_S + TICK_S)
    first = said(page, "say")
    page.evaluate("document.activeElement.blur()")
    page.keyboard.press(" ")
    assert said(page, "say") != first


def test_the_standstill_check_runs_three_tests_in_one_go(open_prompts):
    page = open_prompts("standstill")
    page.get_by_role("button", name="Start").click()
    turn(page, 80.0 + 160.0 + 50.0 + 3 * LEAD_S + 1.0)
    marks, _ = marks_of(page)
    assert [test["kind"] for test in marks["test"]] == [card.kind for card in SEQUENCES["standstill"].cards]
    pauses = [b["start_s"] - a["end_s"] for a, b in zip(marks["test"], marks["test"][1:], strict=False)]
    assert pauses == pytest.approx([LEAD_S] * 2, abs=2 * TICK_S)


@pytest.mark.parametrize(
    ("mode", "voices", "means", "heard"),
    [
        ("Voice", "[{}]", "spoken", {"says Reach for reverse", "beeps 880"}),
        ("Voice", "[]", "no voice", {"beeps 880"}),
        ("Beeps", "[{}]", "A beep", {"beeps 880"}),
        ("Silent", "[{}]", "No sound", set()),
    ],
)
def test_prompts_are_heard_as_chosen_and_as_the_device_can(open_prompts, mode, voices, means, heard):
    page = open_prompts("lockout", voices=voices)
    page.get_by_role("button", name=mode, exact=True).click()
    assert means in said(page, "means")
    page.get_by_role("button", name="Start").click()
    page.evaluate("window.heard = []")
    turn(page, LEAD_S + TICK_S)
    told = set(page.evaluate("window.heard"))
    assert told - {"beeps 440"} == heard


def test_long_steps_are_ticked_off_at_their_end(open_prompts):
    page = open_prompts("bearing_noise")
    page.get_by_role("button", name="Beeps").click()
    page.get_by_role("button", name="Start").click()
    turn(page, LEAD_S + TICK_S)
    page.evaluate("window.heard = []")
    turn(page, 9.9)
    assert page.evaluate("window.heard") == ["beeps 440"] * 3


def test_leaving_the_page_ends_the_prompts(open_prompts):
    page = open_prompts("lockout")
    page.get_by_role("button", name="Start").click()
    page.get_by_role("link", name="Guided tests").first.click()
    turn(page, 1.0)
    page.wait_for_function("() => !document.getElementById('prompts')")
    page.evaluate("window.heard = []")
    turn(page, 20.0)
    assert page.evaluate("window.heard") == []


def test_the_marks_can_be_downloaded(open_prompts):
    page = open_prompts("lockout")
    page.get_by_role("button", name="Start").click()
    turn(page, 9.0)
    page.get_by_role("button", name="Stop").click()
    with page.expect_download() as told:
        page.get_by_role("button", name="Download").click()
    assert told.value.suggested_filename == "marks.toml"
    assert tomllib.loads(told.value.path().read_text(encoding="utf-8"))["test"][0]["kind"] == "lockout"


@pytest.mark.parametrize("kind", [*CARDS, *SEQUENCES])
def test_every_card_prints_black_on_white_a_page_each(served_empty, open_page, kind):
    page = open_page(f"{served_empty.url}/guide/{kind}", scheme="dark")
    cards = len(SEQUENCES[kind].cards) if kind in SEQUENCES else 1
    assert len(re.findall(rb"/Type\s*/Page\b", page.pdf(prefer_css_page_size=True))) == cards
    page.emulate_media(media="print")
    style = "element => [getComputedStyle(element).backgroundColor, getComputedStyle(element).color]"
    for name in ("main", ".testcard .card"):
        assert page.locator(name).first.evaluate(style) == ["rgb(255, 255, 255)", "rgb(0, 0, 0)"]
    expect(page.locator("#prompts-section")).to_be_hidden()


def test_print_asks_the_browser_to_print(served_empty, open_page):
    page = open_page(f"{served_empty.url}/guide/release")
    page.evaluate("window.print = () => { window.printed = true; }")
    page.get_by_role("button", name="Print").click()
    assert page.evaluate("window.printed") is True


def test_where_steps_are_spans_of_their_own_each_is_marked_as_itself(open_prompts):
    page = open_prompts("warm_up")
    expect(page.get_by_label("How it is set up")).to_have_count(0)
    page.get_by_role("button", name="A passenger holds this device").click()
    page.get_by_role("button", name="Start").click()
    turn(page, LEAD_S + TICK_S)
    for minutes in (4, 20, 5):
        turn(page, 60.0 * minutes)
        page.get_by_role("button", name="Next").click()
    assert said(page, "say") == "Soak"
    turn(page, 600.0 + TICK_S)
    turn(page, 180.0)
    page.get_by_role("button", name="Next").click()
    expect(page.locator("#prompt-say")).to_have_text("Done.")
    spans = [(t["configuration"], t["start_s"], t["end_s"]) for t in marks_of(page)[0]["test"]]
    assert [name for name, _, _ in spans] == ["cold", "hot", "heat-soaked"]
    # Cold 0 to 4 min, warming up to 24, hot to 29, the soak to 39, and three minutes after it.
    at_min = [end / 60 for _, *ends in spans for end in ends]
    assert at_min == pytest.approx([0, 4, 24, 29, 39, 42], abs=0.005)


def test_marks_of_several_runs_stand_together_until_they_are_forgotten(open_prompts):
    page = open_prompts("lockout")
    for configuration in ("complete", "cables off"):
        page.get_by_label("How it is set up").select_option(configuration)
        page.get_by_role("button", name="Start").click()
        turn(page, 9.0)
        page.get_by_role("button", name="Stop").click()
        turn(page, 60.0)
    pasted = read_pasted(page.locator("#prompt-marks").input_value())
    assert [mark.configuration for mark in pasted.marks] == ["complete", "cables off"]
    # Nine seconds of the first run and a minute lie between the two starts.
    assert pasted.marks[1].start_s - pasted.marks[0].start_s == pytest.approx(69.0, abs=2 * TICK_S)
    page.get_by_role("button", name="Forget").click()
    expect(page.locator("#prompt-done")).to_be_hidden()
    assert page.evaluate("localStorage.getItem('shiftlog-marks')") is None


def test_a_device_that_falls_asleep_stops_and_marks_only_what_was_prompted(open_prompts):
    page = open_prompts("lockout")
    page.get_by_role("button", name="Start").click()
    turn(page, LEAD_S + 2 * TICK_S + 3.0 + 2.0)
    # Jumps without ticking, as a phone in a pocket does.
    page.clock.fast_forward(30_000)
    assert said(page, "say") == "Stopped: this device fell asleep."
    marks, text = marks_of(page)
    assert marks["test"][0]["end_s"] == pytest.approx(5.0, abs=3 * TICK_S) and "# stopped early" in text


def test_a_reload_in_the_middle_keeps_what_was_done(open_prompts):
    page = open_prompts("lockout")
    page.get_by_role("button", name="Start").click()
    turn(page, LEAD_S + 8.0)
    page.get_by_role("button", name="Stop").click()
    page.get_by_role("button", name="Start").click()
    turn(page, LEAD_S + 12.0)
    page.clock.resume()
    page.reload()
    page.wait_for_selector("#prompt-start")
    expect(page.locator("#prompt-say")).to_have_text("The page was left in the middle of a test.")
    marks = read_pasted(page.locator("#prompt-marks").input_value()).marks
    # The second run is marked up to its last whole step: reach, let go, reach, let go.
    assert [mark.end_s - mark.start_s for mark in marks] == pytest.approx([8.0, 10.0], abs=4 * TICK_S)
    page.reload()
    page.wait_for_selector("#prompt-start")
    expect(page.locator("#prompt-done")).to_be_visible()
    assert len(read_pasted(page.locator("#prompt-marks").input_value()).marks) == 2


def test_leaving_the_page_keeps_what_was_done(open_prompts):
    page = open_prompts("lockout")
    page.get_by_role("button", name="Start").click()
    turn(page, LEAD_S + 8.0)
    page.get_by_role("link", name="Guided tests").first.click()
    turn(page, 1.0)
    page.wait_for_function("() => !document.getElementById('prompts')")
    turn(page, 1.0)
    assert "lockout" in page.evaluate("localStorage.getItem('shiftlog-marks')")


def test_a_stopped_test_goes_on_at_the_round_in_which_it_was_stopped(open_prompts):
    page = open_prompts("release")
    page.get_by_role("button", name="Start").click()
    turn(page, LEAD_S + 2 * 8.0 + 3.0)
    page.get_by_role("button", name="Stop").click()
    page.get_by_role("button", name="Go on at round 3, Right").click()
    turn(page, LEAD_S + TICK_S)
    assert said(page, "say") == "Right" and "round 3 of 10" in said(page, "where")
    turn(page, 8 * 8.0 + 1.0)
    expect(page.locator("#prompt-say")).to_have_text("Done.")
    marks = read_pasted(page.locator("#prompt-marks").input_value()).marks
    assert [mark.end_s - mark.start_s for mark in marks] == pytest.approx([19.0, 64.0], abs=5 * TICK_S)
    expect(page.locator("#prompt-go-on")).to_be_hidden()


def test_a_stop_in_the_third_of_several_tests_goes_on_there(open_prompts):
    page = open_prompts("standstill")
    page.get_by_role("button", name="Start").click()
    turn(page, 80.0 + 160.0 + 3 * LEAD_S + 2.0)
    page.get_by_role("button", name="Stop").click()
    page.get_by_role("button", name="Go on at round 1, Reach for reverse").click()
    turn(page, LEAD_S + 50.0 + 1.0)
    expect(page.locator("#prompt-say")).to_have_text("Done.")
    kinds = [mark.kind for mark in read_pasted(page.locator("#prompt-marks").input_value()).marks]
    assert kinds == ["release", "straight_push", "lockout", "lockout"]


def test_a_device_whose_page_clock_slept_too_keeps_right_times_in_a_waiting_step(open_prompts):
    page = open_prompts("warm_up")
    page.get_by_role("button", name="A passenger holds this device").click()
    page.get_by_role("button", name="Start").click()
    turn(page, LEAD_S + 60.0)
    # Two minutes of sleep in which the page's own clock stood still.
    page.evaluate("() => { const now = Date.now; Date.now = () => now() + 120000; }")
    turn(page, 10.0)
    page.get_by_role("button", name="Next").click()
    page.get_by_role("button", name="Stop").click()
    assert marks_of(page)[0]["test"][0]["end_s"] == pytest.approx(190.0, abs=4 * TICK_S)


def test_every_gear_has_steps_of_its_own_and_each_state_its_mark(open_prompts):
    page = open_prompts("every_gear")
    expect(page.get_by_label("How it is set up")).to_have_count(0)
    page.get_by_role("button", name="Start").click()
    turn(page, 2 * (LEAD_S + 60.0) + 1.0)
    marks = read_pasted(page.locator("#prompt-marks").input_value()).marks
    assert [(mark.kind, says_engine(mark.configuration)) for mark in marks] == [
        ("spin_down", IDLING), ("spin_down", OFF),
    ]  # fmt: skip


def test_on_a_phone_the_step_and_the_stop_stand_in_sight_and_are_large(open_prompts):
    page = open_prompts("spin_down", width=390)
    page.get_by_role("button", name="Start").click()
    turn(page, LEAD_S + TICK_S)
    stop, say = page.locator("#prompt-stop").bounding_box(), page.locator("#prompt-say").bounding_box()
    assert say["y"] >= 0 and stop["y"] + stop["height"] <= 844
    # A thumb in a glove: 9 mm wide pads and more, about 60 CSS pixels (common practice, no source).
    assert stop["height"] >= 60 and stop["width"] >= 300
