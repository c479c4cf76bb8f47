"""How far mountings are right, and whether their confidence is what it says.

``python -m tests.truth.mounting_study --drives 200`` scores random drives; ``--knows``, ``--style`` narrow them and
``--slips`` turns every second sensor in its holder.
"""

import argparse
from dataclasses import dataclass

import numpy as np

from shiftlog.align.mounting import declared_mountings, find_mountings
from shiftlog.model.drive import Mounting
from tests.truth.mounting_drives import STYLES, WITH, MountedDrive, draw_mounted

WRONG_DEG = 10.0
SURE = 0.9


@dataclass(frozen=True, kw_only=True)
class Scored:
    """One drive's answer: errors of forward and up [deg], None where no mounting was given."""

    seed: int
    style: str
    knows: str
    how: str
    confidence: float | None
    said_deg: float | None
    forward_deg: float | None
    up_deg: float | None
    slip_s: float | None
    true_slip_s: float | None


def score_drive(seed: int, drive: MountedDrive) -> Scored:
    """Finds the phone's mounting and compares it with the truth before any slip."""
    declared = declared_mountings(tuple(p.recording for p in drive.placed))
    mounting = as_mounting(find_mountings(drive.placed, declared)["phone"])
    known = mounting.rotation is not None
    return Scored(
        seed=seed,
        style=drive.style,
        knows=drive.knows,
        how=mounting.how,
        confidence=mounting.confidence,
        said_deg=mounting.uncertainty_deg,
        forward_deg=angle_deg(mounting.rotation[0], drive.rotation[0]) if known else None,
        up_deg=angle_deg(mounting.rotation[2], drive.rotation[2]) if known else None,
        slip_s=mounting.slipped_at_s,
        true_slip_s=drive.slipped_at_s,
    )


def as_mounting(found: object) -> Mounting:
    return getattr(found, "mounting", found)


def angle_deg(one: np.ndarray, other: np.ndarray) -> float:
    """Angle between two unit vectors [deg]."""
    return float(np.rad2deg(np.arccos(np.clip(one @ other, -1, 1))))


def study(
    count: int, *, first: int = 0, knows: str | None = None, style: str | None = None, slips: bool = False
) -> list[Scored]:
    """Scores ``count`` drives."""
    return [
        score_drive(seed, draw_mounted(seed, knows=knows, style=style, slip_deg=_turn(seed) if slips else None))
        for seed in range(first, first + count)
    ]


def _turn(seed: int) -> tuple[float, float, float] | None:
    """Every second sensor slips, by 8 to 40 degrees about any axis."""
    rng = np.random.default_rng([seed, 78])
    way = rng.normal(0, 1, 3)
    return None if seed % 2 else tuple(rng.uniform(8, 40) * way / np.linalg.norm(way))


def describe(scored: list[Scored]) -> str:
    """A table by what the sensor had to go by, then how confidence and error go together."""
    lines = [
        f"{'knows':14} {'n':>4} {'given':>6} {'fwd 50/95 %':>13} {'up 50/95 %':>13} {'>3 deg':>7} {'sure, wrong':>12}"
    ]
    for knows in (*WITH, "all"):
        here = [s for s in scored if knows in (s.knows, "all")]
        if here:
            lines.append(_row(knows, here))
    return "\n".join([*lines, "", *_calibration(scored), *_slips(scored)])


def _row(name: str, scored: list[Scored]) -> str:
    given = [s for s in scored if s.forward_deg is not None]
    forward, up = ([getattr(s, key) for s in given] or [np.nan] for key in ("forward_deg", "up_deg"))
    wrong = sum(s.forward_deg > WRONG_DEG and s.confidence > SURE for s in given)
    f50, f95, u50, u95 = *np.percentile(forward, (50, 95)), *np.percentile(up, (50, 95))
    share = np.mean(np.array(forward) > 3)
    return (
        f"{name:14} {len(scored):4} {len(given):6} {f50:6.2f} {f95:6.2f} {u50:6.2f} {u95:6.2f} {share:7.3f} {wrong:12}"
    )


def _calibration(scored: list[Scored]) -> list[str]:
    lines = ["confidence said: right within 3 deg (n)"]
    for low, high in ((0.5, 0.6), (0.6, 0.7), (0.7, 0.8), (0.8, 0.9), (0.9, 0.95), (0.95, 1.01)):
        here = [s for s in scored if s.confidence is not None and low <= s.confidence < high and s.forward_deg]
        if here:
            right, said = np.mean([s.forward_deg <= 3 for s in here]), np.mean([s.confidence for s in here])
            lines.append(f"  {said:.2f}: {right:.2f} ({len(here)})")
    return lines


def _slips(scored: list[Scored]) -> list[str]:
    slipped = [s for s in scored if s.true_slip_s is not None]
    held = [s for s in scored if s.true_slip_s is None]
    found = [s for s in slipped if s.slip_s is not None and abs(s.slip_s - s.true_slip_s) < 30]
    invented = [s.seed for s in held if s.slip_s is not None]
    lines = [f"slips found {len(found)} of {len(slipped)}, invented {len(invented)} of {len(held)} {invented[:20]}"]
    if found:
        lines.append(f"  at, median error {np.median([abs(s.slip_s - s.true_slip_s) for s in found]):.1f} s")
    return lines


def main() -> None:
    parser = argparse.ArgumentParser(description="Scores mountings of random drives.")
    parser.add_argument("--drives", type=int, default=100)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--knows", choices=WITH)
    parser.add_argument("--style", choices=STYLES)
    parser.add_argument("--slips", action="store_true")
    parser.add_argument("--list", action="store_true", help="also list the drives beyond 3 degrees")
    given = parser.parse_args()
    scored = study(given.drives, first=given.first, knows=given.knows, style=given.style, slips=given.slips)
    print(describe(scored))
    if given.list:
        for s in scored:
            if s.forward_deg is not None and s.forward_deg > 3:
                print(s)


if __name__ == "__main__":
    main()
