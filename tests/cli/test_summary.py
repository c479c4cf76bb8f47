"""What the terminal prints of shifts whose gears nobody knows."""

from dataclasses import replace

from shiftlog.commands.summary import drive_lines
from shiftlog.model.drive import DriveHead
from shiftlog.model.reading import measured, unmeasured
from shiftlog.model.result import DriveResult, Summary
from shiftlog.model.shift import Shift


def felt(number: int, gap_s: float | None) -> Shift:
    gap = measured("drive_gap_s", gap_s) if gap_s else unmeasured("drive_gap_s", "no drive gap stands out")
    return Shift(
        number=number, from_gear=None, to_gear=None, start_s=10.0 * number, end_s=None, seen_by="acceleration",
        outcome=None, confidence=0.86, readings={"drive_gap_s": gap},
    )  # fmt: skip


def printed(*shifts: Shift) -> list[str]:
    result = DriveResult(
        head=DriveHead(id="run"), car="Test car", version="0", settings={}, inputs=(), clock_recording="phone",
        clock_zero_s=0.0, recordings=(), left_out=(), gate=None, gate_why="no lever sensor in this drive",
        shifts=shifts, rests=(), rejected=(), summary=Summary(),
    )  # fmt: skip
    return "\n".join(drive_lines(result)).splitlines()


def test_their_gears_are_said_to_be_unknown_with_how_sure_each_is():
    lines = printed(felt(1, 0.8), felt(2, None))
    assert lines[0] == "run, Test car: 2 shifts from acceleration, none of them at 90 % or surer."
    head = next(line for line in lines if line.startswith("no."))
    row = next(line for line in lines if line.startswith("1 "))
    assert head.split() == ["no.", "at", "shift", "sure", "drive", "gap"]
    assert "gear unknown" in row and "86 %" in row and "0.8 s" in row and "None" not in "".join(lines)


def test_a_dash_has_its_reason_below_the_table_once():
    lines = printed(felt(1, 0.8), felt(2, None), felt(3, None))
    assert lines.count("– drive gap: no drive gap stands out (2 shifts)") == 1
    assert "– drive gap: no drive gap stands out" in printed(felt(1, None), felt(2, None))
    assert not any(line.startswith("– ") for line in printed(felt(1, 0.8)))


def test_reasons_that_differ_in_a_number_only_are_one_line():
    def why(number: int, text: str) -> Shift:
        return replace(felt(number, None), readings={"drive_gap_s": unmeasured("drive_gap_s", text)})

    texts = ("leaves by 0.3 m/s² in 2", "leaves by 0.4 m/s² in R", "leaves by 0.3 m/s² in 2")
    lines = printed(felt(1, 0.8), *(why(k + 2, text) for k, text in enumerate(texts)))
    assert [line for line in lines if "leaves" in line] == ["– drive gap: leaves by 0.3 m/s² in 2, or alike (3 shifts)"]
