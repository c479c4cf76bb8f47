"""The short form of the study of comparisons: what is claimed where nothing changed, and what is found where it did."""

import pytest

from tests.truth.compare_pages import Repeats, Truth
from tests.truth.compare_shares import CRASHING, MENDED, STILL, study_shares, study_tests
from tests.truth.compare_study import AT_MARGIN, CHANGED, study, time_table

pytestmark = pytest.mark.truth

PAGES = 60


@pytest.fixture(scope="module", params=[3, 4])
def null(request):
    return study(PAGES, request.param, Truth(), seed=100)


def test_a_page_without_a_change_rarely_claims_one(null):
    """Asked: 6 % of many pages; of 60, at 5 % each, more than seven come once in a hundred times."""
    assert null.counts["pages with a wrong claim"] <= 7, null.first


def test_intervals_cover_the_truth(null):
    """Asked: 93 to 97 %. Headlines: 540 of them, two standard errors are 1.9 %; kinds share their drives' days."""
    assert 0.93 - 0.019 <= null.share("headline covered", "headline rows") <= 0.97 + 0.019
    assert 0.93 <= null.share("kind covered", "kind rows") <= 0.985


def test_uneven_kinds_and_repeat_drives_keep_that():
    for more in ({"missing": 0.4}, {"repeats": Repeats(drives=4)}, {"repeats": Repeats(of_others=True, size=0.5)}):
        tally = study(PAGES, 3, Truth(), seed=101, **more)
        assert tally.counts["pages with a wrong claim"] <= 7, tally.first
        assert 0.91 <= tally.share("headline covered", "headline rows") <= 0.99


def test_a_true_change_is_found_at_four_drives_a_side():
    """Asked: 90 % of headlines, 70 % of kinds."""
    tally = study(PAGES, 4, CHANGED, seed=103)
    assert tally.share("headline found", "headline changed") >= 0.9
    assert tally.share("kind found", "kind changed") >= 0.7


def test_a_change_as_large_as_the_margin_is_hardly_ever_called_the_same():
    """Asked: 6 %. Of 180 headlines and 1,620 kinds, three standard errors of 5 % are 4.9 and 1.6 %."""
    tally = study(PAGES // 3, 4, AT_MARGIN, seed=104)
    assert tally.share("headline wrongly same", "headline beyond margin") <= 0.1
    assert tally.share("kind wrongly same", "kind beyond margin") <= 0.07


def test_shares_rarely_claim_what_days_make_and_find_what_is_there():
    """Asked: 6 % of pages; refusals from 50 to 5 in 100 are found at four drives a side as a time is."""
    assert study_shares(PAGES, 3, STILL, seed=105)["wrong"] <= 7
    assert study_shares(PAGES, 4, MENDED, seed=106)["refused_share", "better"] >= 0.9 * PAGES


def test_times_shorter_by_grinding_are_hardly_ever_called_better():
    tally = study_shares(PAGES // 2, 4, CRASHING, seed=107)
    assert tally["grind_share", "worse"] > 0
    assert tally["baulk_time_s", "better"] + tally["shift_time_s", "better"] <= 3


def test_standstill_tests_of_several_days_do_not_take_a_day_for_the_repair():
    """Asked: 6 %; of 300 pairs two standard errors are 2.5 %."""
    assert study_tests(300, 2, 12, alike=0.3, seed=108) <= 0.06 + 0.025


def test_a_large_table_takes_a_moment():
    """Asked: ten seconds for twelve kinds by ten measures over twenty drives."""
    assert time_table() < 10
