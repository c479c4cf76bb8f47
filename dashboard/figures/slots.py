"""The outline of a gate in mm, from its layout: what the thumbnail and the big picture are both drawn from."""

from dataclasses import dataclass

from shiftlog.model.car import GateLayout

HALF_SLOT_MM = 4.0
"""Half the width a slot is drawn with; only the picture's, not a measure of the car."""
ROUND_MM = 2.5


@dataclass(frozen=True, kw_only=True)
class Box:
    """A rectangle in gate mm."""

    left: float
    right: float
    rear: float
    forward: float


def rounded(box: Box) -> str:
    """The outline of a box with rounded corners, as an SVG path in gate mm."""
    r, a, b, c, d = ROUND_MM, box.left, box.right, box.rear, box.forward
    return (
        f"M{a + r},{c} L{b - r},{c} Q{b},{c} {b},{c + r} L{b},{d - r} Q{b},{d} {b - r},{d} "
        f"L{a + r},{d} Q{a},{d} {a},{d - r} L{a},{c + r} Q{a},{c} {a + r},{c} Z"
    )


@dataclass(frozen=True, kw_only=True)
class Slots:
    """The channels of a gate. home : the home plane's channel, or None; marks : gear, select, engage of its name"""

    channels: tuple[Box, ...]
    home: Box | None
    marks: tuple[tuple[str, float, float], ...]
    around: Box


def gate_slots(layout: GateLayout) -> Slots:
    """Channels along each plane, one across in neutral, and where the gears' names go."""
    half, reach = HALF_SLOT_MM, layout.engage_travel_mm / 2
    name_mm = reach + half + max(0.16 * layout.engage_travel_mm, 4.0)
    centres = [layout.plane_mm(i) for i in range(len(layout.planes))]
    channels = [Box(left=min(centres) - half, right=max(centres) + half, rear=-half, forward=half)]
    marks, home = [], None
    for centre, plane in zip(centres, layout.planes, strict=True):
        forward = reach + half if plane.forward else half
        rear = -reach - half if plane.rear else -half
        channels.append(Box(left=centre - half, right=centre + half, rear=rear, forward=forward))
        marks += [(g, centre, y) for g, y in ((plane.forward, name_mm), (plane.rear, -name_mm)) if g]
        home = channels[-1] if plane.name == layout.home else home
    side = half + 5.0
    edge = name_mm + 5.0
    around = Box(left=min(centres) - side, right=max(centres) + side, rear=-edge, forward=edge)
    return Slots(channels=tuple(channels), home=home, marks=tuple(marks), around=around)
