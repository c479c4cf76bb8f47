"""Lines come back from the cache as they went in, and the logs are not read again."""

import numpy as np

from dashboard.kept_lines import keep_lines
from dashboard.signals import Line
from shiftlog.store.cache import ArrayCache


def test_a_second_look_makes_nothing(tmp_path):
    made = []

    def make():
        made.append(1)
        time = np.linspace(0, 10, 500)
        return tuple(
            Line(key=k, label=k.upper(), unit="mm", time_s=time, values=np.sin(time), spans=((0.0, 4.0), (5.0, 10.0)))
            for k in ("select", "engage")
        )

    first = keep_lines(ArrayCache(tmp_path), "drive", make)
    asked = len(made)
    second = keep_lines(ArrayCache(tmp_path), "drive", make)
    assert len(made) == asked
    for a, b in zip(first, second, strict=True):
        assert (a.key, a.label, a.unit, a.spans) == (b.key, b.label, b.unit, b.spans)
        assert np.array_equal(a.time_s, b.time_s) and np.array_equal(a.values, b.values)
    assert np.allclose(second[0].values, np.sin(np.linspace(0, 10, 500)), atol=1e-6)


def test_no_line_at_all_is_kept_too(tmp_path):
    assert keep_lines(ArrayCache(tmp_path), "drive", lambda: ()) == ()
