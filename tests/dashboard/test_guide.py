"""Pages of the guided tests: every one is listed, every card is whole, the prompts know every step."""

import json

import pytest

from dashboard.app import page
from dashboard.parts.prompts import DRIVING, prompt_data, prompts
from dashboard.routes import GUIDE, Place, Query, read_path, write_path
from shiftlog.guided.cards.known import CARDS, SEQUENCES


def text_of(component) -> str:
    """Everything a page says."""
    return json.dumps(component.to_plotly_json(), default=lambda thing: thing.to_plotly_json(), ensure_ascii=False)


def test_the_list_names_every_test_with_its_question_and_minutes(empty_library):
    said = text_of(page(GUIDE, Query(), empty_library))
    for card in CARDS.values():
        assert card.title in said and card.question in said and f'"/guide/{card.kind}"' in said
    assert "About 5 minutes: let-goes; straight push; reverse lock-out." in said
    assert "Common practice, without a source" in said


@pytest.mark.parametrize("card", CARDS.values(), ids=lambda card: card.kind)
def test_the_page_of_a_test_holds_its_whole_card(card, empty_library):
    said = text_of(page(Place(page="guide", kind=card.kind), Query(), empty_library))
    parts = (card.question, *card.needs, *card.before, *card.bad_cases, *card.cautions, *(s.do for s in card.steps))
    assert all(json.dumps(part, ensure_ascii=False)[1:-1] in said for part in parts)
    assert (DRIVING in said) == card.on_road == ("A passenger holds this device" in said)


def test_a_sequence_holds_the_cards_of_its_tests(empty_library):
    said = text_of(page(Place(page="guide", kind="standstill"), Query(), empty_library))
    assert all(card.question in said for card in SEQUENCES["standstill"].cards)


def test_a_test_nobody_knows_leads_back(empty_library):
    assert "There is no such test" in text_of(page(Place(page="guide", kind="juggling"), Query(), empty_library))


def test_the_prompts_get_every_step_with_its_seconds_or_none_where_somebody_goes_on():
    told = json.loads(prompt_data([CARDS["jump_out"]]))
    assert [one["kind"] for one in told] == ["jump_out"] and told[0]["repeats"] == CARDS["jump_out"].repeats
    assert [step["seconds"] for step in told[0]["steps"]] == [None, 2.0, 5.0, 5.0, 10.0, 2.0]


def test_a_test_without_configurations_has_nothing_to_choose():
    assert "prompt-configuration" not in text_of(prompts([CARDS["jump_out"]]))
    assert "cables off" in text_of(prompts([CARDS["release"]]))


@pytest.mark.parametrize("place", [GUIDE, Place(page="guide", kind="release")])
def test_the_guide_has_paths_of_its_own(place):
    assert read_path(write_path(place)) == place
    assert read_path("/guide/release/more").page == "lost"
