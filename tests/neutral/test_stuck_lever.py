"""A whole log of a lever that friction holds: it lies where the hand left it, and must not drop out for it."""

import numpy as np
import pytest

from shiftlog.neutral.report import report_neutral
from shiftlog.pipeline import load_drive, measure_drive

RATE_HZ = 200
CAR = """format = 1
[car]
name = "Stuck car"
redline_rpm = 7000
[gate]
planes = [ { forward = "1", rear = "2" }, { forward = "3", rear = "4" }, { forward = "5", rear = "R" } ]
home = "3-4"
plane_pitch_mm = 25
engage_travel_mm = 30
"""
SEATS = {"1": (-25, 15), "2": (-25, -15), "3": (0, 15), "4": (0, -15), "5": (25, 15)}


def write_drive(folder, *, seed):
    """Gear after gear; every second journey ends in neutral and the lever lies in the plane it came out of."""
    rng, points, t = np.random.default_rng(seed), [(0.0, SEATS["1"])], 0.0
    true = []

    def go(place, seconds, *, lie=0.0):
        nonlocal t
        t += seconds
        points.append((t, place))
        t += lie
        points.append((t, place))

    for gear in ["2", "3", "4", "5", "1"] * 4:
        go(SEATS[gear], 0.2, lie=rng.uniform(2.0, 3.0))
        if rng.random() < 0.6:
            x = SEATS[gear][0] + rng.normal(0, 0.8)
            go((x, rng.normal(0, 0.5)), 0.12, lie=rng.uniform(2.5, 4.0))
            true.append(x)
        else:
            go((SEATS[gear][0], 0.0), 0.1)
    times = np.arange(0, t, 1 / RATE_HZ)
    way = np.stack([np.interp(times, [p[0] for p in points], [p[1][k] for p in points]) for k in (0, 1)], axis=1)
    counts = np.round(512 + 8 * (way + rng.normal(0, 0.03, way.shape)))
    rows = "\n".join(f"{a:.4f},{b:.0f},{c:.0f}" for a, (b, c) in zip(times, counts, strict=True))
    folder.mkdir()
    (folder / "lever.csv").write_text("time [s],select [count],engage [count]\n" + rows + "\n", encoding="utf-8")
    (folder / "car.toml").write_text(CAR, encoding="utf-8")
    (folder / "drive.toml").write_text(
        'format = 1\n[car]\nprofile = "car.toml"\n[[recording]]\nname = "lever"\nfile = "lever.csv"\nplace = "lever"\n'
        '[recording.columns]\nselect = { column = "select", unit = "count", grows = "right" }\n'
        'engage = { column = "engage", unit = "count", grows = "forward" }\n', encoding="utf-8",
    )  # fmt: skip
    return folder, np.array(true)


@pytest.mark.parametrize("seed", range(8))
def test_every_rest_is_there_unknown_and_in_the_right_plane(tmp_path, seed):
    folder, true = write_drive(tmp_path / "d", seed=seed)
    drive = load_drive(folder)
    result = measure_drive(drive)
    assert len(result.rests) == true.size
    assert max(abs(r.select_mm - x) for r, x in zip(result.rests, true, strict=True)) < 0.3
    assert not any(r.released is False for r in result.rests), "no hand is on this lever"
    [group] = report_neutral([result], drive.car).groups
    assert group.unmoved == true.size
    assert group.unmoved_elsewhere == int((np.abs(true) > 12.5).sum())
