"""Trouble into one gear, into all, or into the gears of one direction of the engage cable."""

from collections.abc import Mapping, Sequence

from shiftlog.findings.candidate import Candidate
from shiftlog.findings.chance import more_often, more_than_usual
from shiftlog.findings.of_trouble import candidate_of, no_more_than_usual
from shiftlog.findings.trouble import Count, Trouble, by_gear, count
from shiftlog.model.car import Car
from shiftlog.model.shift import Shift
from shiftlog.units import as_percent

FISHER = "Fisher's exact test, one-sided"
LEAST_SEEN = 3
"""Shifts into a gear before it is missed among those in trouble (common practice, no source)."""


def find_in_one_gear(shifts: Sequence[Shift], trouble: Trouble, car: Car) -> list[Candidate]:
    """A gear that is in trouble more often than the others together."""
    return [_one_gear(gear, mine, shifts, trouble) for gear, mine in by_gear(shifts).items()]


def _one_gear(gear: str, mine: Sequence[Shift], shifts: Sequence[Shift], trouble: Trouble) -> Candidate:
    here = count(mine, trouble)
    others = count([s for s in shifts if s.to_gear != gear], trouble)
    p, least = more_often(here.k, here.most, others.k, others.n)
    alone = "" if others.k else " only"
    what = (
        f"{trouble.noun} going into {gear}{alone}: in {here.words} shifts, against {others.words} into the other gears."
    )
    test = f"{FISHER}, {here.n + others.n} {trouble.told}"
    return candidate_of(trouble, "gear", what, here.bad, test, p=p, least=least, holds=here.k > 1)


def find_in_all_gears(shifts: Sequence[Shift], trouble: Trouble, car: Car) -> list[Candidate]:
    """Trouble that is more than usual even with the worst gear left out, in most of the gears tried."""
    counts = {gear: count(mine, trouble) for gear, mine in by_gear(shifts).items()}
    whole = count(shifts, trouble)
    worst = _worst(counts)
    if worst is None:
        return []
    rest = count([s for s in shifts if s.to_gear != worst], trouble)
    p, least = more_than_usual(rest.k, rest.most, trouble.usual)
    tried = [c for c in counts.values() if c.n >= LEAST_SEEN]
    hit = [gear for gear, c in counts.items() if c.k]
    holds = len(hit) >= 3 and 2 * sum(c.k > 0 for c in tried) > len(tried)
    what = (
        f"{trouble.noun} going into most gears ({', '.join(hit)}): in {whole.words} shifts, and in {rest.words} even "
        f"without the worst gear, {worst}."
    )
    test = f"binomial test against a share of {as_percent(trouble.usual)}, {rest.n} {trouble.told}"
    return [candidate_of(trouble, "all", what, whole.bad, test, p=p, least=least, holds=holds)]


def _worst(counts: Mapping[str, Count]) -> str | None:
    bad = {gear: (c.k, c.k / c.n) for gear, c in counts.items() if c.k}
    return max(bad, key=bad.get) if bad else None


def find_in_one_direction(shifts: Sequence[Shift], trouble: Trouble, car: Car) -> list[Candidate]:
    """All forward or all rearward gears in trouble, more often than those of the other side."""
    if car.gate is None:
        return []
    sides = {
        "forward": {p.forward for p in car.gate.planes if p.forward},
        "rearward": {p.rear for p in car.gate.planes if p.rear},
    }
    return [_direction(name, gears, shifts, trouble) for name, gears in sides.items()]


def _direction(name: str, gears: set[str], shifts: Sequence[Shift], trouble: Trouble) -> Candidate:
    here = count([s for s in shifts if s.to_gear in gears], trouble)
    others = count([s for s in shifts if s.to_gear not in gears], trouble)
    counts = {gear: count(mine, trouble) for gear, mine in by_gear(here.told).items()}
    worst = _worst(counts)
    spared = count([s for s in (*here.told, *here.left_open) if s.to_gear != worst], trouble)
    p, least = more_often(here.k, here.most, others.k, others.n)
    p_spared, _ = more_often(spared.k, spared.most, others.k, others.n)
    hit = [gear for gear, c in counts.items() if c.k]
    holds = len(hit) > 1 and all(c.k for c in counts.values() if c.n >= LEAST_SEEN)
    what = (
        f"{trouble.noun} going into the {name} gears ({', '.join(hit)}): in {here.words} shifts, against "
        f"{others.words} into those of the other direction of the engage cable."
    )
    test = f"{FISHER}, the worst gear left out as well, {here.n + others.n} {trouble.told}"
    hides = ("gear", "all") if no_more_than_usual(others, trouble) else ("gear",)
    return candidate_of(
        trouble, "direction", what, here.bad, test, p=max(p, p_spared), least=least, holds=holds, hides=hides
    )
