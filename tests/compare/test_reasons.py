"""Reasons told once where they say the same."""

from shiftlog.compare.reasons import merge_reasons


def test_reasons_that_differ_in_a_number_or_a_gear_only_are_one():
    counted = {"heard at 725 Hz in R": 3, "heard at 1,066 Hz in N": 2, "paused": 4, None: 1}
    assert merge_reasons(counted) == [("heard at 725 Hz in R, or alike", 5), ("paused", 4), ("", 1)]
