"""Changes of gear from speeds polled nine times a second, on drives with known truth: the study's short form."""

from tests.truth.polled_study import study


def test_polled_speeds_give_the_changes_and_their_gears() -> None:
    counts, lines = study(range(9100, 9104))
    assert counts["found"] >= 0.98 * counts["true"] > 80, lines
    assert counts["gears right"] == counts["found"], lines
    assert counts["invented"] == 0, lines
