"""How fast the engine turned as the shifts began: a synchroniser with less to do needs less time for it.

Between two given gears the difference in speed that a cone takes up goes with the engine's, and at one force of the
hand so does the time that takes.
"""

from collections.abc import Mapping, Sequence

import numpy as np

from shiftlog.compare.alike import Bands
from shiftlog.compare.caveats import medians_by_kind
from shiftlog.compare.guard import is_within, take_back
from shiftlog.compare.kinds import ALL
from shiftlog.model.car import NEUTRAL
from shiftlog.model.comparison import Row
from shiftlog.model.result import DriveResult
from shiftlog.model.told import Told, tell

OF_ENGINE = ("engine_speed_rpm", "vehicle_speed_mps")
"""Either, as in gear one goes with the other."""
OUT_OF_NEUTRAL = f"{NEUTRAL}-"
"""There the engine turns as it likes."""
PACE_SHARE = 0.05
"""What a practised driver who means to do the same again differs by (common practice, no source)."""
BAULK, TIMES = "baulk_time_s", ("baulk_time_s", "shift_time_s", "neutral_time_s")


def find_pace(before: Sequence[DriveResult], after: Sequence[DriveResult], bands: Bands) -> Mapping[str, float]:
    """By what share the engine turned faster after, for each kind of shift out of a gear and for all of them."""
    for key in OF_ENGINE:
        sides = [medians_by_kind(side, key, bands) for side in (before, after)]
        kinds = [k for k in sorted(sides[0].keys() & sides[1].keys()) if not k.startswith(OUT_OF_NEUTRAL)]
        levels = {k: [sum(side[k]) / len(side[k]) for side in sides] for k in kinds}
        shares = {kind: now / then - 1 for kind, (then, now) in levels.items() if then > 0}
        if shares:
            drives = [min(len(side[kind]) for side in sides) for kind in shares]
            return {ALL: float(np.average([*shares.values()], weights=drives)), **shares}
    return {}


def say_pace(pace: Mapping[str, float]) -> Told | None:
    """`the engine turned 20 % slower as the shifts began after`, or None where it turned about as fast."""
    share = pace.get(ALL, 0.0)
    if abs(share) < PACE_SHARE:
        return None
    percent, way = round(100 * abs(share)), "faster" if share > 0 else "slower"
    said = f"as the shifts began the engine turned {percent} % {way} after: stands, times and knocks follow its speed"
    return tell(f"caveat.engine_{way}", said, percent=percent)


def guard_pace(rows: Sequence[Row], pace: Mapping[str, float]) -> tuple[Row, ...]:
    """Times that differ no more than the engine's speed alone would make them, or are the same for it, are unclear."""
    stood = {row.group: row.before for row in rows if row.measure == BAULK}
    return tuple(_guard(row, pace.get(row.group, 0.0), stood.get(row.group)) for row in rows)


def _guard(row: Row, share: float, stood_s: float | None) -> Row:
    """stood_s : how long the lever stood before the work, which the engine's speed makes longer or shorter by share."""
    if row.measure not in TIMES or abs(share) < PACE_SHARE or not stood_s:
        return row
    alone_s = share * stood_s
    if row.verdict == "same" and not is_within(row, alone_s):
        hides = "the engine did not turn as fast before as after, which alone could hide a change"
        return take_back(row, tell("guard.engine_hides", hides))
    if row.verdict not in ("better", "worse"):
        return row
    if alone_s < 0 and row.ci_high < alone_s or alone_s > 0 and row.ci_low > alone_s or alone_s * row.difference < 0:
        return row
    way = "faster" if share > 0 else "slower"
    but = tell(f"guard.engine_{way}", f"the engine turned {way} after, which alone could do it")
    return take_back(row, but)
