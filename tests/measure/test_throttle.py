"""Where a throttle is closed."""

import numpy as np
import pytest

from shiftlog.measure.throttle import find_closed
from shiftlog.model.trace import Trace


@pytest.mark.parametrize(
    ("values", "closed"),
    [([0.0, 0.0, 0.5, 0.9], 0.0), ([0.14, 0.14, 0.5, 0.9], 0.14), ([0.4, 0.45, 0.5, 0.42], 0.25)],
)
def test_it_is_the_low_end_of_its_log_unless_it_never_closed(values, closed):
    throttle = Trace(
        time_s=np.arange(200) / 10, values=np.repeat(values, 50), spans=((0.0, 19.9),), rate_hz=10.0, recording="bus",
        place="vehicle",
    )  # fmt: skip
    assert find_closed(throttle) == pytest.approx(closed, abs=1e-6)
