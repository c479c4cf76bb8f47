"""What got better in one kind of shift must not hide what got worse in another."""

import pytest

from shiftlog.compare.drives import compare_drives

KINDS = (("2", "3"), ("5", "4"))


@pytest.fixture
def refusing(result, shift):
    """Three drives of six shifts of each kind, of which so many of each were refused once."""

    def make(name, up, down):
        def one(gears, refused, d):
            return [shift(k, gears, outcome="second_push" if k < refused + d % 2 * (refused > 0) else "clean")
                    for k in range(6)]  # fmt: skip

        return [result(f"{name}{d}", [*one(KINDS[0], up, d), *one(KINDS[1], down, d)]) for d in range(3)]

    return make


def refusals(comparison):
    return {r.group: r for r in comparison.rows if r.measure == "refused_share"}


def test_a_kind_that_is_refused_more_often_is_named_though_all_together_show_nothing(refusing):
    found = compare_drives(refusing("b", 4, 0), refusing("a", 0, 4))
    assert {row.verdict for row in refusals(found).values()} == {"unclear"}
    told = [said for said in found.caveats if said.startswith("refusals 5-4: 0 of 18 (at most 19 %) before, 13 of 18")]
    assert len(told) == 1 and "may be chance" in told[0]
    assert not any("refusals 2-3" in said for said in found.caveats)


def test_nothing_is_named_where_nothing_grew_or_where_it_is_claimed(refusing):
    for sides in ((refusing("b", 1, 1), refusing("a", 1, 1)), (refusing("b", 0, 0), refusing("a", 5, 5))):
        found = compare_drives(*sides)
        assert not any("refusals" in said for said in found.caveats)
    assert refusals(found)["5-4"].verdict == "worse"


def test_more_of_one_kind_is_not_said_to_settle_what_all_together_do_not_show(refusing):
    found = refusals(compare_drives(refusing("b", 4, 0), refusing("a", 0, 4)))
    assert found["5-4"].p < 0.05 and found["5-4"].more_drives is None and found["5-4"].times_shifts is None
    assert "all together do not show it" in found["5-4"].why and "would settle" not in found["5-4"].why
