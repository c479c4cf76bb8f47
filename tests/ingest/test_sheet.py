"""Signals that come one by one are laid into rows: nothing is lost, nothing is made up."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from shiftlog.ingest.sheet import Series, lay_rows, sheet_of_series


def series(header: str, rows: list[int], times: list[float], values: list[float]) -> Series:
    return Series(header=header, row=np.array(rows), time=np.array(times, float), values=np.array(values, float))


def test_neighbours_of_one_time_share_a_row_and_others_do_not() -> None:
    table = lay_rows([series("a", [1, 3, 4], [0.0, 0.1, 0.2], [1, 2, 3]), series("b", [2, 5], [0.0, 0.3], [10, 20])])
    assert table.time.tolist() == [0.0, 0.1, 0.2, 0.3]
    np.testing.assert_array_equal(table.values, [[1, 10], [2, np.nan], [3, np.nan], [np.nan, 20]])
    assert table.rows.tolist() == [1, 3, 4, 5]


def test_a_signal_that_comes_twice_at_one_time_keeps_both() -> None:
    table = lay_rows([series("a", [1, 3], [0.5, 0.5], [1, 2]), series("b", [2, 4], [0.5, 0.5], [3, 4])])
    assert sorted(table.values[:, 0].tolist()) == [1, 2] and sorted(table.values[:, 1].tolist()) == [3, 4]
    assert table.time.tolist() == [0.5, 0.5]


def test_the_order_of_the_file_stands_where_time_jumps_back() -> None:
    table = lay_rows([series("a", [1, 2, 3], [5.0, 6.0, 1.0], [1, 2, 3])])
    assert table.time.tolist() == [5.0, 6.0, 1.0]


events = st.lists(st.tuples(st.integers(0, 4), st.integers(0, 2), st.integers(0, 99)), min_size=1, max_size=60)


@given(events)
def test_every_value_is_there_once_in_its_column_and_time(found: list[tuple[int, int, int]]) -> None:
    times = np.cumsum([step % 2 for step, _, _ in found]).astype(float)
    made = []
    for column in range(3):
        at = [i for i, event in enumerate(found) if event[1] == column]
        made.append(series(str(column), [i + 1 for i in at], [times[i] for i in at], [found[i][2] for i in at]))
    table = lay_rows(made)
    assert np.all(np.diff(table.time) >= 0)
    for column, one in enumerate(made):
        held = np.isfinite(table.values[:, column])
        assert table.values[held, column].tolist() == one.values.tolist()
        assert table.time[held].tolist() == one.time.tolist()


def test_a_second_column_of_times_can_be_the_time() -> None:
    sheet = sheet_of_series([series("a", [1, 2], [0, 1], [7, 8]), series("received [s]", [1, 2], [0, 1], [100, 101])])
    table = sheet.read(2, [1])
    assert table.time.tolist() == [100, 101] and table.values.tolist() == [[7], [8]]
