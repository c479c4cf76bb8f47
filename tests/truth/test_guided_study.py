"""The study of guided tests runs, and the quick kinds hold what is asked of them."""

import numpy as np
import pytest

from tests.truth.guided_study import run, say


@pytest.mark.truth
def test_two_ends_and_jumping_out_hold_what_is_asked():
    for kind, first in (("two_ended", 7000), ("jump_out", 7001)):
        for name, values in run(kind, range(first, first + 3)).items():
            sizes = np.abs(values)
            asked = np.median(sizes) < 0.3 if name.endswith(", mm") else np.mean(values) >= 0.97
            assert asked, say(name, values)


def test_a_line_names_what_it_counts():
    assert say("rock", [1.0, 0.0]) == "rock: 50.0 % of 2"
    assert say("loop, mm", [0.1, -0.3]).startswith("loop, mm: median 0.200")


MOST = {", share": 0.25, ", dB": 1.0, ", mm": 0.5, ", ms": 5.0}
"""Median error, by what a score's name ends with."""


@pytest.mark.truth
@pytest.mark.parametrize(
    ("kind", "first"), [("detent", 7100), ("gate_entry", 7110), ("bearing_noise", 7120), ("warm_up", 7130)]
)
def test_depths_entries_noise_and_warmth_are_told_right(kind, first):
    for name, values in run(kind, range(first, first + 3)).items():
        most = next((most for unit, most in MOST.items() if name.endswith(unit)), None)
        asked = np.mean(values) >= 0.9 if most is None else np.median(np.abs(values)) < most
        assert asked, say(name, values)
