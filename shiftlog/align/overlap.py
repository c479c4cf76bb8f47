"""Recordings that share no moment of the drive."""

from shiftlog.model.drive import LeftOut, Placed


def find_apart(placed: tuple[Placed, ...], reference: str) -> tuple[LeftOut, ...]:
    """Those on drive time that overlap the reference nowhere, each with the line that says so."""
    base = next(p for p in placed if p.recording.name == reference)
    others = [p for p in placed if p.on_drive_time and p is not base]
    return tuple(_left_out(p, base) for p in others if not _overlap(p, base))


def _ends(placed: Placed) -> tuple[float, float]:
    time = placed.recording.time_s
    return float(time[0]), float(time[-1])


def _overlap(one: Placed, other: Placed) -> bool:
    (a, b), (c, d) = _ends(one), _ends(other)
    return min(b, d) > max(a, c)


def _left_out(apart: Placed, base: Placed) -> LeftOut:
    (a, b), (c, d) = _ends(apart), _ends(base)
    why = (
        f"{apart.recording.file}: covers {a:.1f} to {b:.1f} s of drive time and {base.recording.file} {c:.1f} to "
        f"{d:.1f} s: they do not overlap. Check clock and clock_offset_s, or that both are of this drive."
    )
    return LeftOut(name=apart.recording.name, file=apart.recording.file, why=why)
