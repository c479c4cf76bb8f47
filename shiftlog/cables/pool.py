"""Clearances of one car and one fitting from several tests, gear by gear."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from shiftlog.model.cables import Clearance


def pool_clearances(found: Sequence[tuple[Clearance, ...]]) -> tuple[Clearance, ...]:
    """One clearance for each gear, in whatever order the tests are given: those of more presses count the more."""
    by_gear: dict[str, list[Clearance]] = {}
    for test in found:
        for one in test:
            by_gear.setdefault(one.gear, []).append(one)
    return tuple(some[0] if len(some) == 1 else _pool(some) for some in by_gear.values())


def _pool(some: Sequence[Clearance]) -> Clearance:
    """A test that only bounds a clearance gives way to those that measured it, and widens what is uncertain."""
    told = [c for c in some if c.bound_mm is None] or some
    bounds = [c.bound_mm for c in some if c.bound_mm is not None]
    bound = min(bounds) if told is some and bounds else None
    weights = np.array([max(c.presses, 1) for c in told], float)
    gives = [c.gives_mm_per_n for c in some if c.gives_mm_per_n is not None]
    within = np.sqrt(np.average([c.u_mm**2 for c in told], weights=weights) / len(told))
    apart = np.std([c.clearance_mm for c in some])
    return replace(
        some[0], clearance_mm=float(np.average([c.clearance_mm for c in told], weights=weights)),
        presses=sum(c.presses for c in some),
        sd_mm=float(np.sqrt(np.average([c.sd_mm**2 for c in told], weights=weights))),
        u_mm=float(np.hypot(within, apart)) if bound is None else bound, bound_mm=bound,
        soft=any(c.soft for c in some), gives_mm_per_n=float(np.median(gives)) if gives else None,
        **_side(some, "left"), **_side(some, "right"),
    )  # fmt: skip


def _side(some: Sequence[Clearance], side: str) -> dict[str, float | None]:
    """Room to one side by the tests in which it was pressed, weighed by how sure they are."""
    keys = (f"{side}_mm", f"{side}_u_mm", f"{side}_bound_mm")
    rooms = [
        (getattr(c, keys[0]), getattr(c, keys[1]) or c.u_mm, getattr(c, keys[2]))
        for c in some
        if getattr(c, keys[0]) is not None
    ]
    told = [room for room in rooms if room[2] is None] or rooms
    if len(rooms) < 2:
        return dict(zip(keys, rooms[0] if rooms else (None, None, None), strict=True))
    if told is rooms and rooms[0][2] is not None:
        bound = min(room[2] for room in rooms)
        return dict(zip(keys, (0.0, bound, bound), strict=True))
    us = np.array([room[1] for room in told])
    mm = float(np.average([room[0] for room in told], weights=us**-2.0))
    u = float(np.hypot(np.sum(us**-2.0) ** -0.5, np.std([room[0] for room in rooms])))
    return dict(zip(keys, (mm, u, None), strict=True))
