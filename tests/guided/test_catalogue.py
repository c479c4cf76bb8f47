"""Every measure of a test names a figure that such a test gives."""

import inspect

import pytest

from shiftlog.guided import engine_on_off, free_play, road_ends, spin_figures, two_ended
from shiftlog.guided.measure import MEASURES as TESTS
from shiftlog.measure import synchro
from shiftlog.measure.catalogue import MEASURES

BESIDE = {
    "free_play": (free_play, two_ended),
    "two_ended": (road_ends,),
    "spin_down": (engine_on_off, spin_figures),
    "synchroniser": (synchro,),
}
"""Where else a kind of test has its figures from."""
OF_TESTS = [m for m in MEASURES.values() if m.test]


@pytest.mark.parametrize("measure", OF_TESTS, ids=lambda m: m.key)
def test_its_figure_is_one_that_the_test_writes(measure):
    modules = (inspect.getmodule(TESTS[measure.test]), *BESIDE.get(measure.test, ()))
    names = [inspect.getsource(module) for module in modules]
    names += [inspect.getsource(m) for module in modules for m in vars(module).values() if is_ours(m)]
    assert any(f'"{measure.figure}"' in text for text in names)


def is_ours(thing: object) -> bool:
    """Functions of other rooms of guided tests that a test borrows."""
    return inspect.isfunction(thing) and thing.__module__.startswith("shiftlog.guided")


def test_there_are_as_many_as_kinds_of_test_that_measure_something():
    assert {m.test for m in OF_TESTS} == set(TESTS)
