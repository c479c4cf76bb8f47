"""What a client's words say of cold and hot: suggested, not decided."""

import pytest

from shiftlog.report.cold_words import say_hint, suggest_temperature


@pytest.mark.parametrize(
    ("complaint", "temperature"),
    [
        ("Second gear is stiff in the morning.", "cold"),
        ("Won't go into first when it is cold, fine once it is warm.", "cold"),
        ("It grinds for the first few minutes, then it is gone.", "cold"),
        ("Der zweite Gang hakt, wenn es kalt ist.", "cold"),
        ("Morgens geht der Rückwärtsgang schwer, warm geht es.", "cold"),
        ("It only jumps out when it is hot.", "hot"),
        ("Nach einer Stunde Autobahn springt der fünfte heraus.", "hot"),
        ("It sticks cold and hot.", "both"),
        ("Kalt hakt es. Heiß springt der Gang heraus.", "both"),
        ("Stiff until it is warm.", "cold"),
    ],
)
def test_cold_and_hot_are_read_out_of_the_words(complaint, temperature):
    hint = suggest_temperature(complaint)
    assert hint.temperature == temperature
    assert all(word in complaint for word in hint.words)


@pytest.mark.parametrize("complaint", ["", "Third scrapes when I am in a hurry.", "Der Hebel bleibt links.", "scolded"])
def test_words_that_say_nothing_of_it_suggest_nothing(complaint):
    assert suggest_temperature(complaint) is None


def test_the_suggestion_names_the_words_and_leaves_the_choice():
    said = say_hint(suggest_temperature("Stiff in the morning"))
    assert "“in the morning”" in said and "sound like cold" in said and "Ask" in said
