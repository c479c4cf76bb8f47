"""What a difference is called."""

import pytest

from shiftlog.compare.words import say_size


@pytest.mark.parametrize(
    ("key", "unit", "value", "size"),
    [
        ("refused_share", "", -0.16, "−16 points of 100"),
        ("shift_time_s", "s", 0.08, "0.08 s"),
    ],
)
def test_shares_differ_by_points_as_a_share_of_a_share_is_another_thing(key, unit, value, size):
    assert say_size(key, unit, value) == size
