"""How one clock reads against another, and how well that is known."""

import math
from dataclasses import dataclass, replace


@dataclass(frozen=True, eq=False, kw_only=True)
class ClockLine:
    """time on the second clock = at_second_s + (time on the first − at_first_s) · (1 + drift).

    u_lag_s, u_drift : standard uncertainties, at ``at_first_s``; right : probability that this is the place at all
    ceiling, tolerance_s : how sure it may be called, and of what; words : what told, one for each step
    slipped_at_first_s : from where on the second clock no longer keeps to this line, or None
    """

    at_first_s: float
    at_second_s: float
    drift: float
    u_lag_s: float
    u_drift: float
    right: float
    ceiling: float
    tolerance_s: float
    words: tuple[str, ...]
    slipped_at_first_s: float | None = None

    def second_s(self, first_s: float) -> float:
        """What the second clock reads when the first reads this [s]."""
        return self.at_second_s + (first_s - self.at_first_s) * (1 + self.drift)

    def first_s(self, second_s: float) -> float:
        """What the first clock reads when the second reads this [s]."""
        return self.at_first_s + (second_s - self.at_second_s) / (1 + self.drift)

    def uncertainty_s(self, first_s: float) -> float:
        """Standard uncertainty of the second clock's reading when the first reads this [s]."""
        return math.hypot(self.u_lag_s, self.u_drift * (first_s - self.at_first_s))

    def confidence(self, first_s: tuple[float, ...]) -> float:
        """Probability that the line is off by less than the tolerance at the worst of these instants."""
        worst = max(self.uncertainty_s(s) for s in first_s)
        within = math.erf(self.tolerance_s / worst / math.sqrt(2)) if worst > 0 else 1.0
        return min(self.right * within, self.ceiling)

    def swapped(self) -> "ClockLine":
        """The same from the second clock's side."""
        slipped = self.slipped_at_first_s
        return replace(
            self,
            at_first_s=self.at_second_s,
            at_second_s=self.at_first_s,
            drift=1 / (1 + self.drift) - 1,
            slipped_at_first_s=None if slipped is None else self.second_s(slipped),
        )

    def then(self, step: "ClockLine") -> "ClockLine":
        """From the first clock to the second of ``step``, whose first is the second of this."""
        at_first_s, slipped = self.first_s(step.at_first_s), step.slipped_at_first_s
        return ClockLine(
            at_first_s=at_first_s,
            at_second_s=step.at_second_s,
            drift=(1 + self.drift) * (1 + step.drift) - 1,
            u_lag_s=math.hypot(self.uncertainty_s(at_first_s), step.u_lag_s),
            u_drift=math.hypot(self.u_drift, step.u_drift),
            right=self.right * step.right,
            ceiling=min(self.ceiling, step.ceiling),
            tolerance_s=max(self.tolerance_s, step.tolerance_s),
            words=(*self.words, *step.words),
            slipped_at_first_s=None if slipped is None else self.first_s(slipped),
        )


def fixed_line(offset_s: float) -> ClockLine:
    """Drive time and a clock that is known."""
    return ClockLine(
        at_first_s=0.0, at_second_s=offset_s, drift=0.0, u_lag_s=0.0, u_drift=0.0, right=1.0, ceiling=1.0,
        tolerance_s=0.01, words=(),
    )  # fmt: skip
