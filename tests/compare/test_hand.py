"""A hand that is gentler makes smaller blows and longer ways by itself."""

import pytest

from shiftlog.compare.drives import compare_drives

BEFORE = (200.0, 300.0, 310.0, 295.0, 305.0, 300.0, 290.0, 300.0)
AFTER = (310.0, 210.0, 200.0, 215.0, 205.0, 210.0, 212.0, 208.0)


@pytest.fixture
def handled(result, shift):
    """Drives whose knocks go with the hand's speed and whose times go against it, times a factor of the car's own."""

    def make(name, speeds, *, knock=1.0, time=1.0):
        def one(k, d, mmps):
            figures = {"approach_speed_mmps": mmps, "knock_peak_mps2": knock * mmps / 30 + 0.1 * ((k + d) % 3)}
            return shift(k, time_s=time * 100 / mmps + 0.002 * ((k + d) % 3), figures=figures)

        return [result(f"{name}{d}", [one(k, d, v) for k, v in enumerate(speeds)]) for d in range(4)]

    return make


def headline(before, after):
    rows = compare_drives(before, after).rows
    return {r.measure: r for r in rows if r.group == "all" and r.measure in ("knock_peak_mps2", "shift_time_s")}


@pytest.mark.parametrize(("speeds", "way"), [((BEFORE, AFTER), "gentler"), ((AFTER, BEFORE), "harder")])
def test_what_the_hand_alone_would_do_is_neither_better_nor_worse(handled, speeds, way):
    found = headline(handled("b", speeds[0]), handled("a", speeds[1]))
    assert {row.verdict for row in found.values()} == {"unclear"}
    assert all(row.taken_back == f"the hand was {way} after, which alone could do it" for row in found.values())


def test_times_that_stay_the_same_though_the_hand_was_harder_may_hide_a_change(handled):
    """As long as before with a hand half as quick again: the lever's own way has become longer."""
    harder = handled("a", BEFORE, time=0.3 * 300 / 210)
    found = headline(handled("b", AFTER, time=0.3), harder)["shift_time_s"]
    assert found.verdict == "unclear" and "could hide a change" in found.taken_back
    alike = headline(handled("b", BEFORE, time=0.3), handled("a", BEFORE, time=0.3))["shift_time_s"]
    assert alike.verdict == "same" and not alike.taken_back


def test_what_goes_beyond_the_hand_or_against_it_stands(handled):
    found = headline(handled("b", BEFORE), handled("a", AFTER, knock=0.5, time=0.5))
    assert {key: row.verdict for key, row in found.items()} == {"knock_peak_mps2": "better", "shift_time_s": "better"}
    assert all("gentler after" in row.why for row in found.values())
