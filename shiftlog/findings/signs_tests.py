"""Rows of the guided tests: what each found points to, or that it is still to be done."""

from collections import Counter
from dataclasses import dataclass, replace

from shiftlog.findings.case import Case
from shiftlog.guided.set_up import COMPLETE, set_up_of
from shiftlog.model.guided import GuidedResult
from shiftlog.model.sign import ADJUST, AGAINST, FOR, INSIDE, OUTSIDE, UNKNOWN, Sign


@dataclass(frozen=True, eq=False, kw_only=True)
class Asked:
    """What a test is asked. points_to : where its trouble lies unless it says otherwise"""

    points_to: str
    says: str
    also_looks_like: str
    next_test: str


TESTS = {
    "release": Asked(
        points_to=OUTSIDE, says="Release test: the lever does not come home, or from one side only.",
        also_looks_like="a hand that guides the lever home; a lever box that is bent or off its place",
        next_test="the same with the cables off, then the tower worked by hand",
    ),
    "straight_push": Asked(
        points_to=ADJUST, says="Straight push: an open palm finds another gear than the home plane's.",
        also_looks_like="a palm that leads the lever sideways; weak centring springs",
        next_test="the release test: do its rests lie off home alike from both sides?",
    ),
    "lockout": Asked(
        points_to=OUTSIDE, says="Lock-out of reverse: it gives way without its collar.",
        also_looks_like="a select cable that was turned and moved the planes against the lock-out",
        next_test="the select cable's setting, then the lock-out again",
    ),
    "free_play": Asked(
        points_to=OUTSIDE, says="Free play: the lever moves in gear before anything else does.",
        also_looks_like="a fork or selector that is worn, inside",
        next_test="lever against tower: a second sensor at the tower, or a helper's finger on each joint",
    ),
    "two_ended": Asked(
        points_to=OUTSIDE, says="Lever against tower: the lever goes some way before the tower follows.",
        also_looks_like="a sensor that is loose on its lever; cold cables",
        next_test="the same with one joint after the other held by hand: lever box, cable ends, brackets",
    ),
    "detent": Asked(
        points_to=INSIDE, says="Detent: the lever does not run in from the depth at which it should.",
        also_looks_like="friction of cable or lever box that holds the lever",
        next_test="the same with the cables off, at the tower by hand",
    ),
    "spin_down": Asked(
        points_to=OUTSIDE, says="Clutch: the shaft is still driven long after the pedal is down.",
        also_looks_like="cold oil, which stops the shaft and hides a dragging clutch; a driver who went through second",
        next_test="three pumps of the pedal, then the same again; hydraulics and pedal travel",
    ),
    "bearing_noise": Asked(
        points_to=INSIDE, says="Noise in neutral changes with the clutch.",
        also_looks_like="a dual-mass flywheel; a release bearing, outside the gearbox",
        next_test="the three clutch positions again, ten seconds each, at hot idle",
    ),
    "synchroniser": Asked(
        points_to=INSIDE, says="Synchroniser test: one gear's cone takes longer, or a quick hand crashes through it.",
        also_looks_like="a clutch that drags (then all gears); a hand that is quicker in that gear",
        next_test="the clutch test, then the same changes hot and cold",
    ),
    "jump_out": Asked(
        points_to=INSIDE, says="Jumping out: a gear comes out by itself, or walks.",
        also_looks_like="engine rock through soft mounts (alike in all gears, and it returns); a gear that never goes "
        "fully home", next_test="the clearance of that gear, boot and console off",
    ),
    "gate_entry": Asked(
        points_to=OUTSIDE, says="Gate entry: pushes begin off the middle of their plane, or strike the gate.",
        also_looks_like="a hurried hand that cuts corners; a driver who rests on the lever",
        next_test="the same with another driver, then the release test",
    ),
    "warm_up": Asked(
        points_to=INSIDE, says="Trouble that belongs to cold or to hot oil.",
        also_looks_like="a wrong oil; a driver who is gentler with a cold car", next_test="the oil: sort and level",
    ),
}  # fmt: skip
"""Kind of test → its row; common practice without a source."""


def find_test_signs(case: Case) -> list[Sign]:
    """A row for each place a kind of test points to, one for a kind that points nowhere, one for a kind not done."""
    return [sign for kind in TESTS for sign in _of_kind(kind, [g for g in case.guided if g.kind == kind])]


def _of_kind(kind: str, found: list[GuidedResult]) -> list[Sign]:
    if not found:
        return [replace(_sign(kind, UNKNOWN, "this test was not done at this visit"), undone=kind)]
    points: dict[str, list[str]] = {}
    for test in found:
        for to, told in test.points_to:
            points.setdefault(to, []).append(f"{told}{_with(test)}")
    if points:
        return [_sign(kind, FOR, _once(told), points_to=to) for to, told in points.items()]
    measured = [test for test in found if test.answered]
    whole = [test for test in measured if not _with(test)]
    last = (whole or measured or found)[-1]
    return [_sign(kind, AGAINST if whole else UNKNOWN, f"{' '.join(last.says[:1])}{_with(last)}")]


def _once(told: list[str]) -> str:
    """What several tests of one kind say, each sentence once with how many of them say it."""
    return "; ".join(text if n == 1 else f"{text} ({n} tests)" for text, n in Counter(told).items())


def _with(test: GuidedResult) -> str:
    return "" if set_up_of(test.configuration) == COMPLETE else f" ({test.configuration})"


def _sign(kind: str, state: str, evidence: str, *, points_to: str | None = None) -> Sign:
    asked = TESTS[kind]
    return Sign(
        points_to=points_to or asked.points_to, rule=asked.says, state=state, evidence=evidence,
        also_looks_like=asked.also_looks_like, next_test=asked.next_test,
    )  # fmt: skip
