"""Where a throttle is closed: its log's own low end, as a closed valve is seldom logged as nought."""

import numpy as np

from shiftlog.model.trace import Trace

CLOSED_QUANTILE, CLOSED_MOST = 0.02, 0.25
"""A closed throttle valve is logged as up to a fifth and more of its travel (common practice, no source)."""


def find_closed(throttle: Trace) -> float:
    """Share of its travel at which it is closed; a drive in which it never closes does not move that end up."""
    return min(float(np.quantile(throttle.values, CLOSED_QUANTILE)), CLOSED_MOST)
