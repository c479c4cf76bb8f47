"""What the driver did, in his own words: journeys and neutral stays before anything is measured on the path."""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class JourneyScript:
    """One journey as it was driven.

    kind : ``through`` (into ``to_gear``), ``back`` (refused, into the old gear again), ``stuck`` (refused, left in
        neutral), ``same`` (out and back), ``neutral`` (to neutral)
    outcome : where the doing itself decides it (``wrong_gear``, ``jumped_out``), else None
    crashed : pushed through a cone that no longer grips, before it could stand
    begin_s : before the lever moves; neutral_s : surely in neutral; settle_s : surely at the journey's end [s]
    """

    from_gear: str
    to_gear: str
    kind: str
    begin_s: float
    neutral_s: float
    settle_s: float
    via: tuple[str, ...] = ()
    outcome: str | None = None
    crashed: bool = False


@dataclass(frozen=True, kw_only=True)
class RestScript:
    """A span of a neutral stay in which one thing holds for the lever.

    how : ``ran`` (it ran home by itself), ``left`` (let go, and did not move), ``guided`` (led here by hand and
        let go or held), ``held`` (a hand on it all the time)
    let_go_s, from_mm, ran_mm : of a release; None otherwise
    """

    start_s: float
    end_s: float
    how: str
    let_go_s: float | None = None
    from_mm: float | None = None
    ran_mm: float | None = None
