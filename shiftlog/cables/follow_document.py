"""A follow-up as the JSON document that other tools read."""

from shiftlog.model.follow_up import CableFollowed, FollowUp, GearFollowed
from shiftlog.model.reading import Reading

FORMAT = 1


def follow_up_to_document(found: FollowUp) -> dict:
    """Plain values only; a figure that could not be had is null, with its reason beside it."""
    return {
        "format": FORMAT,
        "car": found.car,
        "scale": found.scale,
        "verdict": found.verdict,
        "why": found.why,
        "gears": [_gear(gear) for gear in found.gears],
        "cables": [_cable(cable) for cable in found.cables],
        "tightest": found.tightest,
        "smallest_before_mm": found.smallest_before_mm,
        "smallest_after_mm": found.smallest_after_mm,
        "steps": list(found.steps),
        "notes": list(found.notes),
    }


def _gear(gear: GearFollowed) -> dict:
    return {
        "gear": gear.gear, "before_mm": gear.before_mm, "foretold_mm": gear.foretold_mm, "after_mm": gear.after_mm,
        "wanted_mm": gear.wanted_mm, "difference": _reading(gear.difference_mm), "verdict": gear.verdict,
        "fits_what_moved": gear.fits, "why": gear.why,
    }  # fmt: skip


def _cable(cable: CableFollowed) -> dict:
    return {
        "cable": cable.turning.name, "turns": cable.turning.turns, "foretold_mm": cable.turning.foretold_mm,
        "moved_mm": _reading(cable.moved_mm), "mm_per_turn": _reading(cable.mm_per_turn),
        "profile_mm_per_turn": cable.profile_mm_per_turn, "verdict": cable.verdict, "other_way": cable.other_way,
    }  # fmt: skip


def _reading(reading: Reading) -> dict:
    return {
        "value": reading.value, "uncertainty": reading.uncertainty,
        "interval95": None if reading.interval95 is None else list(reading.interval95), "why": reading.why,
    }  # fmt: skip
