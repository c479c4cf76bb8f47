"""Which window of a drive a drag or a button asks for."""

from dashboard import ids

Window = tuple[float, float]
LEAST_S = 0.05
"""A narrower window would hold a handful of samples of the slower signals."""


def dragged_window(dragged: dict | None) -> tuple[Window | None, bool]:
    """The window of a drag, and whether there was one; (None, True) means all of the drive."""
    given = dragged or {}
    if "xaxis.range[0]" in given and "xaxis.range[1]" in given:
        return _ordered(float(given["xaxis.range[0]"]), float(given["xaxis.range[1]"])), True
    return None, bool(given.get("xaxis.autorange"))


def button_window(button: str, window_s: Window, whole_s: Window) -> Window | None:
    """The window after a button, kept inside the drive; None means all of it."""
    start_s, end_s = window_s
    length, middle = end_s - start_s, (start_s + end_s) / 2
    if button == ids.WHOLE:
        return None
    if button == ids.ZOOM_IN:
        return _ordered(middle - length / 6, middle + length / 6)
    if button == ids.ZOOM_OUT:
        return _inside(middle - 1.5 * length, middle + 1.5 * length, whole_s)
    step = 0.7 * length * (1 if button == ids.LATER else -1)
    return _shifted(start_s + step, end_s + step, whole_s)


def _ordered(start_s: float, end_s: float) -> Window:
    low, high = min(start_s, end_s), max(start_s, end_s)
    if high - low < LEAST_S:
        middle = (low + high) / 2
        return middle - LEAST_S / 2, middle + LEAST_S / 2
    return low, high


def _inside(start_s: float, end_s: float, whole_s: Window) -> Window | None:
    low, high = max(start_s, whole_s[0]), min(end_s, whole_s[1])
    return None if (low, high) == whole_s else _ordered(low, high)


def _shifted(start_s: float, end_s: float, whole_s: Window) -> Window:
    move = max(whole_s[0] - start_s, 0.0) or min(whole_s[1] - end_s, 0.0)
    return start_s + move, end_s + move
