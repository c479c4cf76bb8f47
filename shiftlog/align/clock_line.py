"""How a clock reads against drive time, and how well that is known."""

import math
from dataclasses import dataclass

from shiftlog.align.clock_pair import PairMatch


@dataclass(frozen=True, eq=False, kw_only=True)
class ClockLine:
    """reading = at_s + (drive time − middle_s) · (1 + drift).

    u_lag_s at ``middle_s`` and u_drift : standard uncertainties; right : probability that this is the place at all
    ceiling, tolerance_s : how sure it may be called, and of what; words : what told
    """

    middle_s: float
    at_s: float
    drift: float
    u_lag_s: float
    u_drift: float
    right: float
    ceiling: float
    tolerance_s: float
    words: tuple[str, ...]
    slipped_at_s: float | None = None

    @property
    def offset_s(self) -> float:
        """The reading at drive time zero [s]."""
        return self.at_s - self.middle_s * (1 + self.drift)

    def drive_time_s(self, reading_s: float) -> float:
        """Drive time of a reading [s]."""
        return self.middle_s + (reading_s - self.at_s) / (1 + self.drift)

    def uncertainty_s(self, drive_s: float) -> float:
        """Standard uncertainty of the reading at an instant [s]."""
        return math.hypot(self.u_lag_s, self.u_drift * (drive_s - self.middle_s))

    def confidence(self, drive_s: tuple[float, ...]) -> float:
        """Probability that the line is off by less than the tolerance at the worst of these instants."""
        worst = max(self.uncertainty_s(s) for s in drive_s)
        within = math.erf(self.tolerance_s / worst / math.sqrt(2)) if worst > 0 else 1.0
        return min(self.right * within, self.ceiling)


def fixed_line(offset_s: float) -> ClockLine:
    """A clock that is known."""
    return ClockLine(
        middle_s=0.0, at_s=offset_s, drift=0.0, u_lag_s=0.0, u_drift=0.0, right=1.0, ceiling=1.0, tolerance_s=0.01,
        words=(),
    )  # fmt: skip


def chain(line: ClockLine, match: PairMatch) -> ClockLine:
    """The line of the second clock of a match, from the line of its first."""
    middle = line.drive_time_s(match.at_first_s)
    slipped = None if match.slipped_at_first_s is None else line.drive_time_s(match.slipped_at_first_s)
    return ClockLine(
        middle_s=middle,
        at_s=match.at_second_s,
        drift=(1 + line.drift) * (1 + match.drift) - 1,
        u_lag_s=math.hypot(line.uncertainty_s(middle), match.u_lag_s),
        u_drift=math.hypot(line.u_drift, match.u_drift),
        right=line.right * match.right,
        ceiling=min(line.ceiling, match.ceiling),
        tolerance_s=max(line.tolerance_s, match.tolerance_s),
        words=(*line.words, match.words),
        slipped_at_s=slipped,
    )
