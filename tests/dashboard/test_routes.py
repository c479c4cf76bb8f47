"""The URL is the state: what is written reads back alike, and nonsense leads nowhere."""

import pytest

from dashboard.routes import (
    COMPARE,
    DRIVES,
    KMH,
    MPH,
    Place,
    Query,
    page_key,
    read_path,
    read_query,
    write_path,
    write_query,
)

PLACES = [
    DRIVES,
    COMPARE,
    Place(page="car", car="Hill-climb coupe, five-speed"),
    Place(page="visit", car="A/B 50% ä?#", visit="-"),
    Place(page="drive", car="c", visit="after the repair", drive="warm-2"),
    Place(page="shift", car="c", visit="after", drive="warm-2", shift=14),
    Place(page="profile"),
    Place(page="profile", car="c/d"),
]


@pytest.mark.parametrize("place", PLACES, ids=lambda place: place.page)
def test_a_place_reads_back_alike(place):
    assert read_path(write_path(place)) == place


@pytest.mark.parametrize(
    "path", ["/nowhere", "/car", "/car/a/b/c/x", "/car/a/b/c/-1", "/car/a/b/c/²", "/car/a/b/c/1/2", "/compare/1"]
)
def test_nonsense_leads_nowhere(path):
    assert read_path(path).page == "lost"


@pytest.mark.parametrize(
    "query",
    [
        Query(),
        Query(window_s=(-1.5, 12.25), speed=MPH),
        Query(before=("a", "b"), after=("c",), measure="shift_time_s"),
    ],
)
def test_a_query_reads_back_alike(query):
    assert read_query(write_query(query)) == query


@pytest.mark.parametrize(
    "search", ["?from=1", "?from=2&to=1", "?from=nan&to=3", "?from=a&to=b", "?from=1&to=inf", "?speed=knots", None]
)
def test_what_makes_no_sense_is_passed_over(search):
    query = read_query(search)
    assert query.window_s is None and query.speed == KMH


def test_zoom_does_not_build_the_page_anew_but_units_and_sides_do():
    here = page_key("/car/a/b/c", "?from=1&to=2")
    assert here == page_key("/car/a/b/c", "?from=3&to=4&measure=baulk_time_s")
    assert here != page_key("/car/a/b/c", "?from=1&to=2&speed=mph")
    assert here != page_key("/car/a/b/d", "?from=1&to=2")
    assert here != page_key("/car/a/b/c", "?before=x")
