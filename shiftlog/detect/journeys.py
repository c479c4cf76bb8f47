"""Stays and refusals become journeys: from gear to gear, out of neutral, into neutral, refused, and back."""

from dataclasses import dataclass

from shiftlog.detect.events import Event, Refusal, Stay
from shiftlog.detect.phases import Push, find_still
from shiftlog.model.car import NEUTRAL
from shiftlog.model.lever import LeverPath
from shiftlog.model.settings import Settings
from shiftlog.model.shift import Rejected
from shiftlog.signal.crossing import find_runs


@dataclass(frozen=True, eq=False, kw_only=True)
class Journey:
    """One way of the lever, before its outcome is settled.

    left, entered : the stays it lies between, None for neutral; pushes : all attempts, refused ones first
    kind : ``in`` (a gear was reached) | ``missed`` | ``back`` (into the old gear, nothing tried) | ``to_neutral``
    """

    from_gear: str
    to_gear: str
    kind: str
    start_s: float
    end_s: float
    left: Stay | None
    entered: Stay | None
    refusals: tuple[Refusal, ...]
    via: tuple[str, ...] = ()

    @property
    def pushes(self) -> tuple[Push, ...]:
        """All attempts in order, the one that went in last."""
        earlier = tuple(p for r in self.refusals for p in r.pushes)
        return earlier + (self.entered.pushes if self.entered and self.kind == "in" else ())


def find_journeys(
    path: LeverPath, events: tuple[Event, ...], settings: Settings
) -> tuple[tuple[Journey, ...], tuple[Rejected, ...]]:
    """Cut the story into journeys: at each stay in gear, and at each stay in neutral of more than two seconds."""
    journeys: list[Journey] = []
    rejected: list[Rejected] = []
    left: Stay | None = None
    seen_neutral_s = _seen_since(path, 0)
    refusals: list[Refusal] = []
    for event in events:
        since = _last_seen(left, refusals, seen_neutral_s)
        if event.entered_s - since > settings.neutral_stay_s and (left or refusals):
            journeys.extend(_into_neutral(left, refusals, since))
            left, refusals, seen_neutral_s = None, [], since
        if isinstance(event, Refusal):
            refusals.append(event)
            continue
        found = _arrive(path, left, refusals, event, seen_neutral_s, settings)
        (rejected if isinstance(found, Rejected) else journeys).append(found)
        left, refusals = event, []
    ended, cut = _end_of_log(path, left, refusals, seen_neutral_s, settings)
    return tuple(j for j in journeys + ended if isinstance(j, Journey)), tuple(rejected + cut)


def _seen_since(path: LeverPath, index: int) -> float:
    return float(path.time_s[index])


def _last_seen(left: Stay | None, refusals: list[Refusal], otherwise: float) -> float:
    """When the lever last came back to neutral."""
    if refusals:
        return refusals[-1].left_s
    return left.left_s if left else otherwise


def _into_neutral(left: Stay | None, refusals: list[Refusal], neutral_s: float) -> list[Journey]:
    if refusals:
        start = left.leaves_s if left else refusals[0].entered_s
        return [
            Journey(
                from_gear=left.gear if left else NEUTRAL, to_gear=refusals[-1].gear or NEUTRAL, kind="missed",
                start_s=start, end_s=neutral_s, left=left, entered=None, refusals=tuple(refusals),
            )
        ]  # fmt: skip
    assert left is not None
    return [
        Journey(
            from_gear=left.gear, to_gear=NEUTRAL, kind="to_neutral", start_s=left.leaves_s, end_s=neutral_s,
            left=left, entered=None, refusals=(),
        )
    ]  # fmt: skip


def _arrive(
    path: LeverPath, left: Stay | None, refusals: list[Refusal], stay: Stay, neutral_s: float, settings: Settings
) -> Journey | Rejected | None:
    if stay.begins_log or (left is not None and left.ends_log):
        return _cut_off(path, left, stay)
    if left is None:
        return _out_of_neutral(path, refusals, stay, neutral_s, settings)
    back = stay.gear == left.gear
    elsewhere = [r for r in refusals if r.gear != left.gear]
    kind = ("missed" if elsewhere else "back") if back else "in"
    return Journey(
        from_gear=left.gear, to_gear=(elsewhere[-1].gear or NEUTRAL) if kind == "missed" else stay.gear, kind=kind,
        start_s=left.leaves_s, end_s=stay.arrived_s, left=left, entered=stay, refusals=tuple(refusals),
    )  # fmt: skip


def _cut_off(path: LeverPath, left: Stay | None, stay: Stay) -> Rejected | None:
    """The log begins in gear (nothing to say), or has a gap on the way."""
    if left is None and stay.excursion.start <= 1:
        return None
    start = left.leaves_s if left else float(path.time_s[max(stay.excursion.start - 1, 0)])
    return Rejected(start_s=start, end_s=stay.arrived_s, kind="shift", why="the lever's log has a gap on the way")


def _out_of_neutral(
    path: LeverPath, refusals: list[Refusal], stay: Stay, neutral_s: float, settings: Settings
) -> Journey | Rejected:
    """From neutral: the journey starts at the first rise through 0.1 after the lever last lay there for 0.3 s.

    Refusals before that count among the attempts all the same: a refused gear must not drop out.
    """
    first = refusals[0].entered_s if refusals else stay.entered_s
    if first - neutral_s < settings.lay_s:
        return Rejected(
            start_s=neutral_s, end_s=stay.arrived_s, kind="shift",
            why="the log begins in the middle of it: the gear it came from was not seen",
        )  # fmt: skip
    start = first
    onward = (*(r.entered_s for r in refusals[1:]), stay.entered_s)
    for left_s, onward_s in zip((r.left_s for r in refusals), onward, strict=False):
        if longest_still_s(path, left_s, onward_s, settings) >= settings.lay_s:
            start = onward_s
    return Journey(
        from_gear=NEUTRAL, to_gear=stay.gear, kind="in", start_s=start, end_s=stay.arrived_s, left=None,
        entered=stay, refusals=tuple(refusals),
    )  # fmt: skip


def longest_still_s(path: LeverPath, start_s: float, end_s: float, settings: Settings) -> float:
    """The longest time the lever lay still in neutral between two instants [s]."""
    first, last = path.index(start_s), path.index(end_s)
    longest = 0.0
    for a, b in find_runs(path.depth[first:last] < settings.neutral_depth):
        for begin, stop in find_still(path, first + int(a), first + int(b), settings, ease=1.0):
            longest = max(longest, (stop - begin) / path.rate_hz)
    return longest


def _end_of_log(
    path: LeverPath, left: Stay | None, refusals: list[Refusal], neutral_s: float, settings: Settings
) -> tuple[list[Journey], list[Rejected]]:
    if (left is None and not refusals) or (left is not None and left.ends_log and not refusals):
        return [], []
    since = _last_seen(left, refusals, neutral_s)
    if path.time_s[-1] - since > settings.neutral_stay_s:
        return _into_neutral(left, refusals, since), []
    start = left.leaves_s if left else since
    why = "the log ends on the way: where the lever went was not seen"
    return [], [Rejected(start_s=start, end_s=float(path.time_s[-1]), kind="shift", why=why)]
