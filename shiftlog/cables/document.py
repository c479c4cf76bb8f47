"""A cable setting as the JSON document that other tools read."""

from shiftlog.model.cables import CableAdvice, Clearance, Setting, Turned

FORMAT = 1


def advice_to_document(advice: CableAdvice) -> dict:
    """Plain values only."""
    return {
        "format": FORMAT,
        "car": advice.car,
        "scale": advice.scale,
        "wanted_from": advice.wanted_from,
        "clearances": [_clearance(c) for c in advice.clearances],
        "setting": {
            **_setting(advice.setting),
            "sd_engage_mm": advice.sd_engage_mm,
            "sd_select_mm": advice.sd_select_mm,
        },
        "expected": _expected(advice),
        "binding": list(advice.binding),
        "missing_mm": advice.missing_mm,
        "smallest_now_mm": advice.smallest_now_mm,
        "smallest_then_mm": advice.smallest_then_mm,
        "turn_table": [_turned(t) for t in advice.turn_table],
        "not_a_gate_stop": list(advice.not_a_gate_stop),
        "not_pressed": list(advice.not_pressed),
        "ranges": {
            name: {"low_mm": low, "high_mm": high, "known": known}
            for name, (low, high), known in zip(("engage", "select"), advice.ranges, advice.range_known, strict=True)
        },
        "at_end": list(advice.at_end),
        "beyond_range": None
        if advice.beyond is None
        else {**_setting(advice.beyond), "smallest_mm": advice.beyond_smallest_mm},
        "stopped_by_range": advice.stopped_by_range,
        "coupling": {
            "engage_per_select": advice.off_axis.engage_per_select,
            "select_per_engage": advice.off_axis.select_per_engage,
            "known": advice.off_axis.known,
            "seats_off_square": advice.off_axis.off_square,
        },
        "verdict": advice.verdict,
        "doubtful": advice.doubtful,
        "doubts": list(advice.doubts),
        "why": advice.why,
        "steps": list(advice.steps),
        "notes": list(advice.notes),
    }


def _expected(advice: CableAdvice) -> list[dict]:
    """Room of each gear after the setting; across it null where that was not measured to both sides."""
    across = advice.across_after(advice.setting.engage_mm, advice.setting.select_mm)
    bounds = {stop.gear for stop in advice.stops if stop.side == "home" and stop.at_most}
    return [
        {
            "gear": gear, "clearance_mm": mm, "at_most": gear in bounds,
            "left_mm": across.get((gear, "left")), "right_mm": across.get((gear, "right")),
        }
        for gear, mm in advice.expected.items()
    ]  # fmt: skip


def _clearance(c: Clearance) -> dict:
    return {
        "gear": c.gear, "clearance_mm": c.clearance_mm, "sd_mm": c.sd_mm, "uncertainty_mm": c.u_mm,
        "presses": c.presses, "wanted_mm": c.wanted_mm, "left_mm": c.left_mm, "right_mm": c.right_mm,
        "gives_mm_per_n": c.gives_mm_per_n, "less_than_mm": c.bound_mm, "left_uncertainty_mm": c.left_u_mm,
        "right_uncertainty_mm": c.right_u_mm, "left_less_than_mm": c.left_bound_mm,
        "right_less_than_mm": c.right_bound_mm,
    }  # fmt: skip


def _setting(setting: Setting) -> dict:
    return {
        "engage_mm": setting.engage_mm, "select_mm": setting.select_mm, "engage_turns": setting.engage_turns,
        "select_turns": setting.select_turns,
    }  # fmt: skip


def _turned(turned: Turned) -> dict:
    return {
        "engage_turns": turned.setting.engage_turns,
        "select_turns": turned.setting.select_turns,
        "smallest_mm": turned.smallest_mm,
        "clearances": dict(turned.clearances),
        "within_range": turned.within,
        "tightest": turned.tightest.gear,
        "tightest_side": turned.tightest.side,
    }
