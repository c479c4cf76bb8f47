"""The cards: one for every kind, fit to be read aloud, done in the time named, honest about where they come from."""

import pytest

from shiftlog.guided.cards.clutch import WAITS_S
from shiftlog.guided.cards.known import CARDS, SEQUENCES, card_of
from shiftlog.guided.cards.shared import BASIS, ROAD
from shiftlog.guided.cards.text import WIDTH, card_lines, card_text
from shiftlog.model.guided import TEST_KINDS

LONGEST_PROMPT = 28
"""Characters of a prompt that is spoken in under two seconds (from memory: about fifteen a second)."""
every_card = pytest.mark.parametrize("card", CARDS.values(), ids=lambda card: card.kind)
standing = [card for card in CARDS.values() if not card.on_road]
on_road = [card for card in CARDS.values() if card.on_road]


def lasts_s(card) -> float:
    return card.repeats * sum(step.seconds or 0.0 for step in card.steps)


def test_every_kind_has_its_card_under_its_own_name():
    assert set(CARDS) == set(TEST_KINDS)
    assert all(card.kind == kind for kind, card in CARDS.items())


@every_card
def test_a_card_asks_a_question_and_has_all_its_parts(card):
    assert card.question.endswith("?")
    assert card.needs and card.before and card.steps and card.repeats >= 1
    assert len(card.bad_cases) >= 3 and card.cautions


@every_card
def test_a_card_says_that_it_rests_on_common_practice_alone(card):
    assert BASIS in card.cautions and "Common practice, without a source" in " ".join(card_text(card).split())


@every_card
def test_prompts_are_short_enough_to_be_spoken_before_they_count(card):
    assert all(len(step.say) <= LONGEST_PROMPT and not step.say.endswith(".") for step in card.steps)
    assert all(step.seconds is None or step.seconds >= 1.0 for step in card.steps)


@pytest.mark.parametrize("card", standing, ids=lambda card: card.kind)
def test_at_standstill_no_prompt_waits_for_a_hand_and_the_time_is_as_the_card_says(card):
    assert all(step.seconds is not None for step in card.steps)
    assert 0.4 * 60 * card.minutes <= lasts_s(card) <= 60 * card.minutes


@pytest.mark.parametrize("card", on_road, ids=lambda card: card.kind)
def test_on_the_road_nobody_is_asked_to_touch_anything_while_driving(card):
    assert ROAD in card.cautions and "while driving" in ROAD


def test_the_standstill_check_takes_five_minutes_with_ten_let_goes_from_each_side():
    check = SEQUENCES["standstill"]
    assert [card.kind for card in check.cards] == ["release", "straight_push", "lockout"]
    assert 4 * 60 <= sum(lasts_s(card) for card in check.cards) <= 60 * (check.minutes + 0.5) <= 5.5 * 60
    assert all("Engine off" in " ".join(card.before) for card in check.cards)
    for kind in ("release", "straight_push"):
        card = CARDS[kind]
        for side in ("Right", "Left"):
            at = [i for i, step in enumerate(card.steps) if step.say == side]
            assert all(card.steps[i + 1].say == "Let go" for i in at) and len(at) * card.repeats >= 10


def test_each_straight_push_follows_a_let_go():
    says = [step.say for step in CARDS["straight_push"].steps]
    assert all(says[i - 1] == "Let go" for i, say in enumerate(says) if say == "Push") and "Push" in says


def test_the_spin_down_waits_get_shorter_and_are_at_most_five():
    says = [step.say for step in CARDS["spin_down"].steps]
    waits = [step.seconds for step in CARDS["spin_down"].steps if step.say.startswith("Clutch down")]
    assert waits == sorted(waits, reverse=True) == list(WAITS_S) and len(waits) <= 5 and says.count("Reverse") == 5
    assert "stop at the first loud grind" in card_text(CARDS["spin_down"])


def test_clearances_are_pressed_twice_to_each_side_as_the_setting_asks_for():
    says = [step.say for step in CARDS["clearance"].steps]
    assert {says.count(f"Press {to}") for to in ("home", "right", "left")} == {2}
    assert all(says[i + 1] == "Let go" for i, say in enumerate(says) if say.startswith("Press"))


@every_card
def test_the_text_of_a_card_fits_a_page_and_holds_all_of_it(card):
    lines = card_lines(card)
    assert max(map(len, lines)) <= WIDTH and lines[0].startswith(card.title)
    said = " ".join(card_text(card).split())
    parts = (card.question, *card.needs, *card.before, *card.bad_cases, *card.cautions, *(s.do for s in card.steps))
    assert all(part in said for part in parts)
    assert ("On the road, about" in said) == card.on_road


def test_the_words_of_times_and_repeats_are_right():
    assert "Standing, about 1 minute." in card_lines(CARDS["lockout"])
    assert "Steps, once" in card_lines(CARDS["spin_down"])
    assert "until you go on" in card_text(CARDS["synchroniser"])


@pytest.mark.parametrize(
    ("kind", "spans"),
    [("warm_up", ("cold", "hot", "heat-soaked")), ("two_ended", ("standing", "on the road"))],
)
def test_steps_that_are_spans_of_their_own_are_marked_as_the_card_says(kind, spans):
    told = [step.marks for step in CARDS[kind].steps if step.marks]
    assert tuple(told) == CARDS[kind].configurations == spans


def test_a_span_has_the_card_of_the_way_in_which_it_was_done():
    assert card_of("bearing_noise", "On the road").on_road and ROAD in card_of("bearing_noise", "on the road").cautions
    assert card_of("spin_down", "every gear, engine off").title == "Every gear, engine off"
    assert card_of("spin_down", "after pumping") is card_of("spin_down", None) is CARDS["spin_down"]
    assert card_of("juggling", None) is None


def test_other_cards_are_one_span():
    others = [card for kind, card in CARDS.items() if kind not in ("warm_up", "two_ended")]
    assert not any(step.marks for card in others for step in card.steps)


def test_a_recorder_at_the_tower_has_prompts_of_its_own_and_fingers_are_not_asked_to_stand_for_it():
    both, fingers = CARDS["two_ended"], CARDS["free_play"]
    assert any("tower" in need for need in both.needs) and not any("tower" in need for need in fingers.needs)
    assert any(both.title in line for line in fingers.before)
