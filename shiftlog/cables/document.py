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
        "expected": [{"gear": gear, "clearance_mm": mm} for gear, mm in advice.expected.items()],
        "binding": list(advice.binding),
        "missing_mm": advice.missing_mm,
        "smallest_now_mm": advice.smallest_now_mm,
        "smallest_then_mm": advice.smallest_then_mm,
        "turn_table": [_turned(t) for t in advice.turn_table],
        "not_a_gate_stop": list(advice.not_a_gate_stop),
        "verdict": advice.verdict,
        "doubtful": advice.doubtful,
        "why": advice.why,
        "steps": list(advice.steps),
        "notes": list(advice.notes),
    }


def _clearance(c: Clearance) -> dict:
    return {
        "gear": c.gear, "clearance_mm": c.clearance_mm, "sd_mm": c.sd_mm, "uncertainty_mm": c.u_mm,
        "presses": c.presses, "wanted_mm": c.wanted_mm, "left_mm": c.left_mm, "right_mm": c.right_mm,
        "gives_mm_per_n": c.gives_mm_per_n,
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
    }
