"""Shifts that acceleration alone shows, written and read back."""

import json
from dataclasses import replace

from shiftlog.model.drive import DriveHead
from shiftlog.model.reading import measured
from shiftlog.model.recording import Quality
from shiftlog.model.result import DriveResult, Summary
from shiftlog.model.shift import Shift
from shiftlog.store.document import document_text, document_to_result, result_to_document
from shiftlog.store.plain import to_plain


def test_a_shift_of_unknown_gears_comes_back_with_its_confidence_and_says_why():
    shift = Shift(
        number=1, from_gear=None, to_gear=None, start_s=10.0, end_s=None, seen_by="acceleration", outcome=None,
        gap=(10.0, 10.6), confidence=0.86,
        readings={
            "drive_gap_s": measured("drive_gap_s", 0.6),
            "speed_difference_rpm": replace(measured("speed_difference_rpm", 700.0), side="hub"),
        },
    )  # fmt: skip
    result = DriveResult(
        head=DriveHead(id="run"), car="Test car", version="0", settings={}, inputs=(), clock_recording="phone",
        clock_zero_s=0.0, recordings=(), left_out=(), gate=None, gate_why="no lever", shifts=(shift,), rests=(),
        rejected=(), summary=Summary(),
    )  # fmt: skip
    document = json.loads(document_text(result_to_document(result)))
    plain = document["shifts"][0]
    assert plain["from"] is plain["to"] is None and plain["confidence"] == 0.86
    assert "gap in the drive alone" in plain["unmeasured"]["from"]
    assert plain["side"] == {"speed_difference_rpm": "hub"}
    back = document_to_result(document).shifts[0]
    assert back.readings["speed_difference_rpm"].side == "hub" and back.readings["drive_gap_s"].side is None
    assert (back.from_gear, back.to_gear, back.confidence, back.seen_by) == (None, None, 0.86, "acceleration")


def test_clipped_samples_are_written_by_channel():
    quality = Quality(
        rate_hz=100.0, jitter_s=0.0, samples=10, duration_s=0.1, clipped=4, clipped_by={"accel_x": 1, "accel_z": 3}
    )
    assert to_plain(quality, shapes={})["clipped_by"] == {"accel_x": 1, "accel_z": 3}
